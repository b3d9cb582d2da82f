//! Physical quantities as types that cannot be mixed up, and their reading and printing.
//!
//! Every quantity is held in one unit (millimetres, degrees, grams, square millimetres, pascals …)
//! and carries the unit in the names of its constructors and getters. People write `50 in`,
//! `1.27 m`, `5.7 oz/yd2`; [`std::str::FromStr`] reads them, and the printing helpers show both the
//! metric and the inch-pound system, because a laminator's cloth comes in one and the drawing in
//! the other.
//!
//! Conversion factors are those of NIST SP 811 (2008), Appendix B.
//!
//! # Example
//!
//! A quantity is read with its unit, printed in both systems, and mixed up with no other:
//!
//! ```
//! use warpwise::units::{Angle, ArealWeight, Length};
//!
//! let width: Length = "50 in".parse()?;
//! assert_eq!(width, Length::mm(1270.0));
//! assert_eq!(width.in_mm_and_inches(), "1270 mm (50.00 in)");
//!
//! let cloth: ArealWeight = "5.7 oz/yd2".parse()?;
//! assert!((cloth.to_g_per_m2() - 193.3).abs() < 0.1);
//!
//! // Fibres look alike after half a turn.
//! assert_eq!(Angle::degrees(135.0).as_fibre(), Angle::degrees(-45.0));
//!
//! let without_unit = "50".parse::<Length>();
//! assert!(without_unit.is_err());
//! # Ok::<(), warpwise::units::UnitError>(())
//! ```

mod angle;
mod direction;
mod force;
mod length;
mod mass;
mod money;
mod quantity;
mod read;
#[cfg(test)]
mod tests;
mod work;

pub use angle::Angle;
pub use direction::{FibreAxis, PlyAngle, WarpDirection};
pub use force::{BeamStiffness, BendingStiffness, Force, Modulus, Pressure, StretchStiffness};
pub(crate) use length::fixed;
pub use length::{Area, Length, LengthUnit};
pub use mass::{ArealWeight, Density, Mass};
pub use money::{Money, Price, PricePerLength};
pub(crate) use read::{Form, PERCENT, WithUnit};
pub use read::{UnitError, read_percent};
pub use work::{Coverage, Duration, HeatingRate, LayingSpeed, Speed, Temperature, Volume};
