//! Why something cannot be booked.

use std::fmt;

/// Why an event cannot be, or a journal cannot be read.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum ShelfFault {
    /// What is wrong with the line of this number.
    InLine(usize, Box<Self>),
    /// It is no line of a journal; says why.
    NoEvent(String),
    /// Its number is not the line's: lines were lost, or two journals are mixed.
    Number(usize),
    /// There is no such remnant.
    NotThere(String),
    /// There is such a remnant already, or a plan will leave one of that name.
    Twice(String),
    /// The remnant is off the shelf for good.
    Gone {
        /// Its name.
        name: String,
        /// What became of it.
        how: String,
        /// When.
        when: String,
    },
    /// The remnant is kept for another job.
    Reserved(String, String),
    /// The job has no plan that waits to be cut.
    NothingReserved {
        /// The job.
        job: String,
        /// When it was cut last.
        cut: Option<String>,
    },
}

impl fmt::Display for ShelfFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::InLine(_, fault) => fault.fmt(f),
            Self::NoEvent(why) => write!(f, "this is no line of a journal: {why}"),
            Self::Number(n) => write!(f, "this line has the number {n}, which is not its own"),
            Self::NotThere(name) => write!(f, "`{name}` is not on the shelf"),
            Self::Twice(name) => write!(f, "there is a remnant `{name}` already"),
            Self::Gone { name, how, when } => write!(f, "`{name}` {how} ({when})"),
            Self::Reserved(name, job) => write!(f, "`{name}` is reserved for {job}"),
            Self::NothingReserved { job, cut: None } => {
                write!(f, "nothing is reserved for {job}")
            }
            Self::NothingReserved {
                job,
                cut: Some(when),
            } => {
                write!(f, "{job} was cut already ({when})")
            }
        }
    }
}

impl std::error::Error for ShelfFault {}

impl ShelfFault {
    /// The next step for the user.
    #[must_use]
    pub const fn help(&self) -> &'static str {
        match self {
            Self::InLine(..) | Self::NoEvent(_) | Self::Number(_) => {
                "the journal is written by warpwise alone; put back an earlier copy of it, or count the \
                 shelf and start anew in an empty folder with `warpwise shelf FOLDER --put FILE`"
            }
            Self::NotThere(_) => "`warpwise shelf FOLDER` lists what is there",
            Self::Twice(_) => {
                "two labels alike are no labels: `--rename` gives it the next free name"
            }
            Self::Gone { .. } => {
                "cloth that is there again after all gets a new name: `warpwise shelf FOLDER --put FILE --rename`"
            }
            Self::Reserved(..) => {
                "plan again, or give the other job up: `warpwise shelf FOLDER --release JOB`"
            }
            Self::NothingReserved { cut: None, .. } => {
                "plan the job first: `warpwise plan JOB.toml`"
            }
            Self::NothingReserved { .. } => "to make it again, plan it again first",
        }
    }

    /// The line of the journal that it is in, if it is in one.
    #[must_use]
    pub const fn line(&self) -> Option<usize> {
        match self {
            Self::InLine(n, _) => Some(*n),
            _ => None,
        }
    }
}
