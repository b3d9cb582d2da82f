//! The pieces of a job, as they are for one way of buying its cloths.

use std::sync::Arc;

use super::division::{Divided, Wholes};
use super::{CoreShape, Piece};
use crate::cloth::{Cloth, Stock};
use crate::diag::Diagnostics;
use crate::job::{Job, Pin};

/// All pieces of a job, part by part and ply by ply, made for one way of buying each cloth.
#[derive(Clone, Debug)]
pub struct Pieces {
    pub(super) job: Arc<Job>,
    pub(super) wholes: Arc<Wholes>,
    pub(super) ways: Vec<usize>,
    pub(super) offered: Diagnostics,
    pub(super) list: Vec<Arc<Piece>>,
    pub(super) cores: Vec<CoreShape>,
}

impl Pieces {
    /// The job, with its stock.
    #[must_use]
    pub fn job(&self) -> &Arc<Job> {
        &self.job
    }

    /// The cores of the job, part by part; they are cut from no cloth.
    #[must_use]
    pub fn cores(&self) -> &[CoreShape] {
        &self.cores
    }

    /// Which of its [ways to buy it](Cloth::ways_to_buy) each cloth of the job is bought in.
    #[must_use]
    pub fn ways(&self) -> &[usize] {
        &self.ways
    }

    /// The cloths of the job as they are bought.
    pub(crate) fn cloths_bought(&self) -> impl Iterator<Item = Cloth> {
        let bought = self.job.cloths().iter().zip(&self.ways);
        bought.filter_map(|(cloth, &way)| cloth.bought(way))
    }

    /// What is to be said of the plies that are divided because of the roll that is bought, where the
    /// cloth is on offer on several.
    #[must_use]
    pub fn remarks_on_offers(&self) -> &Diagnostics {
        &self.offered
    }

    /// The pieces of the same job where its cloths are bought in other ways.
    ///
    /// # Errors
    /// The plies that cannot be cut from the rolls of their cloths.
    pub(crate) fn bought(&self, ways: Vec<usize>) -> Result<Self, Diagnostics> {
        let divided = self.wholes.divided(&self.job, &ways);
        if !divided.misfits.is_empty() {
            let mut problems = Diagnostics::new();
            let misfits = divided.misfits.into_iter();
            misfits.for_each(|(_, problem)| problems.push(problem));
            return Err(problems);
        }
        let pieces = Self {
            ways,
            ..self.clone()
        };
        Ok(pieces.of(divided).0)
    }

    /// With the pieces of `divided`, and what is to be said of cloths that are on one roll only.
    pub(super) fn of(self, divided: Divided) -> (Self, Diagnostics) {
        let (mut offered, mut said) = (Diagnostics::new(), Diagnostics::new());
        for (cloth, diagnostic) in divided.said {
            match self.job.cloths()[cloth].supply.offers.is_empty() {
                true => said.push(diagnostic),
                false => offered.push(diagnostic),
            }
        }
        let pieces = Self {
            list: divided.list,
            offered,
            ..self
        };
        (pieces, said)
    }

    /// The same pieces for so many sets, as `sets` makes of those that there are.
    pub(crate) fn with_sets(&self, sets: impl Fn(u32) -> u32) -> Self {
        let mut job = Arc::clone(&self.job);
        // Places are those of the pieces that there are.
        if !job.pins().is_empty() && self.list.iter().any(|one| sets(one.sets) != one.sets) {
            Arc::make_mut(&mut job).unpin();
        }
        self.varied(job, sets)
    }

    /// The same pieces where the job has these pins.
    pub(crate) fn with_pins(&self, pins: Vec<Pin>) -> Self {
        let job = Job::clone(&self.job).with_pins(pins);
        self.varied(Arc::new(job), |sets| sets)
    }

    /// The same pieces with nothing of their cloths on hand.
    pub(crate) fn without_stock(&self) -> Self {
        self.with_stock(|_| Vec::new())
    }

    /// The same pieces with so much of each cloth on hand.
    pub(crate) fn with_stock(&self, stock: impl Fn(&Cloth) -> Vec<Stock>) -> Self {
        let mut job = Job::clone(&self.job);
        for cloth in job.cloths_mut() {
            cloth.supply.stock = stock(cloth);
        }
        self.varied(Arc::new(job), |sets| sets)
    }

    /// These pieces of a job.
    #[cfg(test)]
    pub(crate) fn made(job: Arc<Job>, list: Vec<Arc<Piece>>) -> Self {
        Self {
            ways: vec![0; job.cloths().len()],
            wholes: Arc::default(),
            offered: Diagnostics::new(),
            job,
            list,
            cores: Vec::new(),
        }
    }

    /// The wishes for files of its job, for other ones.
    #[cfg(test)]
    pub(crate) fn outputs_mut(&mut self) -> &mut crate::job::Outputs {
        Arc::make_mut(&mut self.job).outputs_mut()
    }

    fn varied(&self, job: Arc<Job>, sets: impl Fn(u32) -> u32) -> Self {
        let varied = |piece: &Piece| Piece {
            job: Arc::clone(&job),
            sets: sets(piece.sets),
            ..Piece::clone(piece)
        };
        let wholes = Wholes {
            plies: self.wholes.plies.iter().map(varied).collect(),
            keep_out: self.wholes.keep_out.clone(),
        };
        Self {
            list: (self.list.iter().map(|piece| Arc::new(varied(piece)))).collect(),
            job: Arc::clone(&job),
            wholes: Arc::new(wholes),
            ..self.clone()
        }
    }
}

impl std::ops::Deref for Pieces {
    type Target = [Arc<Piece>];
    fn deref(&self) -> &Self::Target {
        &self.list
    }
}
