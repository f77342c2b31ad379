//! Numbers with a range, right by construction: one recipe for all of them.

/// Makes a number type that is held within a range when it is computed (`new`) and refused outside it when
/// it is read (`TryFrom`, serde). The crate that uses it depends on serde.
#[macro_export]
macro_rules! bounded {
    ($($(#[$doc:meta])* $name:ident, $range:expr, default $default:expr, $what:literal, $wanted:literal);+) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, serde::Serialize, serde::Deserialize)]
        #[serde(try_from = "f64", into = "f64")]
        pub struct $name(f64);

        impl $name {
            /// The number brought within its range; what is not a number becomes the default.
            pub fn new(v: f64) -> Self {
                let range = $range;
                if v.is_nan() { Self::default() } else { Self(v.clamp(*range.start(), *range.end())) }
            }

            pub fn get(self) -> f64 {
                self.0
            }
        }

        impl Default for $name {
            fn default() -> Self {
                Self($default)
            }
        }

        $crate::read_within!($name, $range, $what, $wanted);
    )+};
}

/// How a number type is read from a number, which is refused outside a range, and written as one.
#[macro_export]
macro_rules! read_within {
    ($name:ident, $range:expr, $what:literal, $wanted:literal) => {
        impl From<$name> for f64 {
            fn from(v: $name) -> Self {
                v.0
            }
        }

        impl TryFrom<f64> for $name {
            type Error = $crate::units::UnitError;
            fn try_from(got: f64) -> Result<Self, $crate::units::UnitError> {
                if ($range).contains(&got) {
                    Ok(Self(got))
                } else {
                    Err($crate::units::UnitError { what: $what, wanted: $wanted, got })
                }
            }
        }
    };
}
