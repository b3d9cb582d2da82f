//! Physical quantities as types that cannot be mixed up, and their reading and printing.
//!
//! Every quantity is held in one unit (millimetres, degrees, grams, square millimetres, pascals …)
//! and carries the unit in the names of its constructors and getters. People write `50 in`,
//! `1.27 m`, `5.7 oz/yd2`; [`std::str::FromStr`] reads them, and the printing helpers show both the
//! metric and the inch-pound system, because a laminator's cloth comes in one and the drawing in
//! the other.
//!
//! Conversion factors are those of NIST SP 811 (2008), Appendix B.

mod angle;
mod length;
mod mass;
mod modulus;
mod money;
mod pressure;
mod read;
mod speed;
#[cfg(test)]
mod tests;
mod work;

pub use angle::Angle;
pub use length::{Area, Length, LengthUnit};
pub use mass::{ArealWeight, Density, Mass};
pub use modulus::Modulus;
pub use money::{Money, Price, PricePerLength};
pub use pressure::{Force, Pressure};
pub(crate) use read::{Form, PERCENT, Written};
pub use read::{UnitError, read_percent};
pub use speed::Speed;
pub use work::{Coverage, Duration, LayingSpeed, Volume};
