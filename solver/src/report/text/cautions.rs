//! What a builder must hear before cutting and filling.

use super::{WIDTH, table::wrapped};

/// The cautions shown under every bridge: what the results are, and what they do not replace.
pub const CAUTIONS: &str = "Before you build: these results are geometry, so check them against the real parts in \
    your hand before you drill or order. Clamp the work, deburr, and keep chips out of the circuit. Leak-test the \
    closed circuit before anything is powered, first with air at low pressure and never above the rating of its \
    weakest part, then with coolant while only the pump runs; a reservoir is not a pressure vessel. Coolant becomes \
    conductive in use and may be poisonous: label, contain and dispose of it properly. Disconnect from the mains \
    before wet work. Local codes and licensed practice come first.";

/// The cautions, set to the width of a report.
#[must_use]
pub fn cautions() -> String {
    wrapped(CAUTIONS, WIDTH, 0, 0)
}
