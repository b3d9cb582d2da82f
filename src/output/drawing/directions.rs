//! The directions of a piece: its warp, its fibres, and the part's 0°.

use crate::cloth::Weave;
use crate::number::number;
use crate::units::{Angle, PlyAngle};

/// The directions of a piece where its part's 0° points along `zero`.
pub(in crate::output) struct Directions {
    pub(in crate::output) weave: Weave,
    pub(in crate::output) angle: PlyAngle,
    pub(in crate::output) zero: Angle,
}

impl Directions {
    pub(super) fn warp(&self) -> Angle {
        self.weave.warp(self.angle).where_zero_is(self.zero)
    }

    /// The fibres that do not run along or across the warp, which tells of the others: where they
    /// lie, and their angle from 0° in words. They stand at the end that leads away from 0°.
    pub(super) fn named_fibres(&self) -> Vec<(Angle, String)> {
        let is_oblique = self.weave.fibres().iter().any(|fibre| fibre % 90.0 != 0.0);
        let away = |from_zero: Angle| {
            let degrees = from_zero.to_degrees();
            let turn = if degrees.abs() < 90.0 { 180.0 } else { 0.0 };
            from_zero + Angle::degrees(turn)
        };
        let fibres = self.weave.fibres_of(self.angle).filter(|_| is_oblique);
        fibres
            .map(|axis| {
                let text = number(axis.from_zero().to_degrees(), 1);
                (self.zero + away(axis.from_zero()), format!("{text}°"))
            })
            .collect()
    }
}
