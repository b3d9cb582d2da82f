//! The parts of `nest_bench`: instances, runs, kept results, tables and pictures.

pub(crate) mod clock;
pub(crate) mod drawing;
pub(crate) mod families;
pub(crate) mod generate;
pub(crate) mod instance;
pub(crate) mod memory;
mod plies;
pub(crate) mod plot;
pub(crate) mod published;
pub(crate) mod results;
pub(crate) mod run;
pub(crate) mod table;

pub(crate) use instance::{Instance, Item};

/// Whatever went wrong, with its message.
pub(crate) type Failure = Box<dyn std::error::Error>;
