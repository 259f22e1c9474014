//! Why a circuit has no answer.

use thiserror::Error;

/// Why a circuit could not be built or solved. Names are those that the parts and ports were given.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum NetworkError {
    /// Two parts have one name.
    #[error("there already is a part `{part}`: give each part its own name")]
    NameTaken {
        /// The name.
        part: String,
    },
    /// A part ends where it starts.
    #[error("`{part}` starts and ends at `{node}`: a part leads from one port to another")]
    LeadsToItself {
        /// The part.
        part: String,
        /// The port.
        node: String,
    },
    /// A chain has no part.
    #[error("the chain from `{from}` to `{to}` has no part: give at least one")]
    EmptyChain {
        /// Where it starts.
        from: String,
        /// Where it ends.
        to: String,
    },
    /// No part leads to this port.
    #[error("no part leads to a port `{node}`")]
    UnknownNode {
        /// The port.
        node: String,
    },
    /// There is no such part.
    #[error("there is no part `{part}`")]
    UnknownPart {
        /// The part.
        part: String,
    },
    /// Two ports are held at a pressure.
    #[error(
        "`{second}` is a second reservoir besides `{first}`: a closed circuit has one; join their air spaces or leave one out"
    )]
    SecondReservoir {
        /// The one stated first.
        first: String,
        /// The one stated second.
        second: String,
    },
    /// A number is not finite.
    #[error("{what} is {value}: expected a finite number")]
    NotFinite {
        /// Which number.
        what: &'static str,
        /// What was given.
        value: f64,
    },
    /// Nothing is in the circuit.
    #[error("the circuit has no part: add parts between ports")]
    Empty,
    /// Nothing moves the coolant.
    #[error("no pump runs in the circuit{}: add a pump or turn one on", if .off.is_empty() { String::new() } else { format!(" (off: {})", .off.join(", ")) })]
    NoPump {
        /// Pumps that are there but off.
        off: Vec<String>,
    },
    /// Some parts are not joined to the rest.
    #[error("{} not joined to `{from}`: join every part to the circuit or leave it out", list(.parts))]
    Disconnected {
        /// The parts that cannot be reached.
        parts: Vec<String>,
        /// The port from which they cannot be reached.
        from: String,
    },
    /// What is let in is not what is let out.
    #[error("{surplus_m3_s} m³/s more is let in than out: in a filled circuit both are equal")]
    Unbalanced {
        /// Sum of all supplies.
        surplus_m3_s: f64,
    },
    /// The part that was asked about has no pump that runs.
    #[error("`{part}` has no pump that runs")]
    NotAPump {
        /// The part.
        part: String,
    },
    /// The pump is in no closed loop.
    #[error("`{part}` is in no closed loop: coolant must be able to come back to it, so join both of its ends")]
    NoLoop {
        /// The part.
        part: String,
    },
    /// Coolant becomes hotter or colder than its properties are known.
    #[error(
        "the coolant leaves the range in which its properties are known, {from} to {to} °C, in `{part}`: give the heat more flow, more radiator, or other air"
    )]
    OutsideLiquid {
        /// The part where it is farthest from that range.
        part: String,
        /// The lowest temperature, in °C.
        from: f64,
        /// The highest, in °C.
        to: f64,
    },
    /// The numbers were too extreme to settle.
    #[error(
        "the pressures around the loop of `{part}` do not close: {residual_pa} Pa are left; a value in it is far out of range"
    )]
    NotConverged {
        /// The part that closes the loop that is worst.
        part: String,
        /// What is left there.
        residual_pa: f64,
    },
}

/// "`a`, `b` and 3 more are" or "`a` is".
fn list(parts: &[String]) -> String {
    const SHOWN: usize = 4;
    let named: Vec<String> = parts.iter().take(SHOWN).map(|part| format!("`{part}`")).collect();
    let verb = if parts.len() == 1 { "is" } else { "are" };
    match parts.len().saturating_sub(SHOWN) {
        0 => format!("{} {verb}", named.join(", ")),
        more => format!("{} and {more} more {verb}", named.join(", ")),
    }
}
