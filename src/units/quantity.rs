//! One declaration for each quantity: its type, the unit it is held in, and the units it is read in.

/// Declares a quantity: a number in one unit, made from it, told in it, and read in `units`, each
/// with its factor to the held one. `like` and `known` are for messages.
macro_rules! quantity {
    (
        $(#[$doc:meta])*
        $name:ident, $what:literal, like $like:literal;
        held in $held:literal: $make:ident, $get:ident;
        known $known:literal: $units:expr
    ) => {
        $crate::units::quantity::quantity! {
            $(#[$doc])*
            $name, $what;
            held in $held: $make, $get
        }

        impl $name {
            const READING: $crate::units::read::Reading = $crate::units::read::Reading {
                quantity: $what,
                example: $like,
                known: $known,
                units: $units,
            };
        }

        impl $crate::units::WithUnit for $name {
            const FORM: $crate::units::Form = Self::READING.form(|| Self::READING.pattern());
        }

        impl std::str::FromStr for $name {
            type Err = $crate::units::UnitError;

            #[doc = concat!("Reads what is written like `", $like, "`; the usual units are ", $known, ".")]
            fn from_str(text: &str) -> Result<Self, Self::Err> {
                Self::READING.value(text).map(Self)
            }
        }
    };
    (
        $(#[$doc:meta])*
        $name:ident, $what:literal;
        held in $held:literal: $make:ident, $get:ident
    ) => {
        $(#[$doc])*
        #[doc = concat!("\nHeld in ", $held, ".")]
        #[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
        pub struct $name(f64);

        impl $name {
            #[doc = concat!("`value` ", $held, " of ", $what, ".")]
            #[must_use]
            pub const fn $make(value: f64) -> Self {
                Self(value)
            }

            #[doc = concat!("The ", $what, " in ", $held, ".")]
            #[must_use]
            pub const fn $get(self) -> f64 {
                self.0
            }
        }
    };
}

/// Quantities that add up, and of which there may be none or many times as much.
macro_rules! adds_up {
    ($($name:ident),*) => { $(
        impl $name {
            /// None of it.
            pub const ZERO: Self = Self(0.0);
        }

        impl std::ops::Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }

        impl std::ops::Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0)
            }
        }

        impl std::ops::Neg for $name {
            type Output = Self;
            fn neg(self) -> Self {
                Self(-self.0)
            }
        }

        impl std::ops::Mul<f64> for $name {
            type Output = Self;
            fn mul(self, times: f64) -> Self {
                Self(self.0 * times)
            }
        }

        impl std::iter::Sum for $name {
            fn sum<I: Iterator<Item = Self>>(all: I) -> Self {
                all.fold(Self::ZERO, |sum, one| sum + one)
            }
        }
    )* };
}

pub(super) use {adds_up, quantity};
