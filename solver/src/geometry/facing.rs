//! Directions the way people write them: `"+x"`, `"-z"`, or three numbers such as `"1 0 1"`.

use super::frame::{Direction, Vector};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::{fmt, str::FromStr};

/// A direction written by a person: a signed axis (`"+x"`) or three numbers (`"1 0 1"`, any length but zero).
///
/// Text is kept apart from its meaning so that a file can be written back as it was read.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(try_from = "String", into = "String")]
#[schemars(with = "String")]
pub struct Facing {
    text: String,
    direction: Direction,
}

impl Facing {
    /// The direction, of length one.
    #[must_use]
    pub fn direction(&self) -> Direction {
        self.direction
    }
}

impl Default for Facing {
    /// `"+z"`.
    fn default() -> Self {
        Self { text: "+z".to_owned(), direction: Vector::z_axis() }
    }
}

impl fmt::Display for Facing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

impl From<Facing> for String {
    fn from(facing: Facing) -> Self {
        facing.text
    }
}

impl TryFrom<String> for Facing {
    type Error = BadFacing;
    fn try_from(text: String) -> Result<Self, BadFacing> {
        text.parse()
    }
}

/// A direction that could not be read.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error(
    "expected a direction such as \"+x\", \"-z\" or three numbers \"1 0 1\" that are not all zero, found \"{text}\""
)]
pub struct BadFacing {
    text: String,
}

impl FromStr for Facing {
    type Err = BadFacing;
    fn from_str(text: &str) -> Result<Self, BadFacing> {
        let bad = || BadFacing { text: text.to_owned() };
        let vector = match text.trim() {
            "+x" => Vector::x(),
            "-x" => -Vector::x(),
            "+y" => Vector::y(),
            "-y" => -Vector::y(),
            "+z" => Vector::z(),
            "-z" => -Vector::z(),
            other => {
                let numbers: Vec<f64> = other
                    .split([' ', ','])
                    .filter(|word| !word.is_empty())
                    .map(str::parse)
                    .collect::<Result<_, _>>()
                    .map_err(|_| bad())?;
                let [x, y, z] = numbers[..] else { return Err(bad()) };
                Vector::new(x, y, z)
            }
        };
        let length = vector.norm();
        // A sum of squares that over- or underflows has no direction to trust.
        if !(length.is_finite() && length > 1e-9) {
            return Err(bad());
        }
        Ok(Self { text: text.to_owned(), direction: Direction::new_unchecked(vector / length) })
    }
}
