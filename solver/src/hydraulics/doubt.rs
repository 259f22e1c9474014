//! What is in doubt about a loss, and where between its least and its most it is taken.

use super::loss::Side;

/// Something that a loss is worked out with and that is not known exactly.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Formula {
    /// The friction of straight bores.
    Friction,
    /// Turns where two drilled holes meet.
    Drilled,
    /// Turns that are smooth curves.
    Swept,
    /// Cast or forged turns.
    Threaded,
    /// Sudden changes of bore.
    Steps,
    /// Ways out of a vessel and into one.
    Vessels,
    /// Helical coils.
    Coils,
    /// Valves.
    Valves,
    /// What bends close to each other do to each other.
    CloseBends,
    /// A component as it was measured.
    Component,
    /// The curve of a pump.
    Pump,
    /// One leg of a tee.
    Tee,
}

impl Formula {
    /// All of them.
    pub const ALL: [Self; 12] = [
        Self::Friction,
        Self::Drilled,
        Self::Swept,
        Self::Threaded,
        Self::Steps,
        Self::Vessels,
        Self::Coils,
        Self::Valves,
        Self::CloseBends,
        Self::Component,
        Self::Pump,
        Self::Tee,
    ];

    /// Whether its error is mostly the same error in every part: a formula that is off is off for all elbows. What is
    /// measured, the curve of a pump, and the legs of a tee are each off on their own.
    #[must_use]
    pub fn is_shared(self) -> bool {
        !matches!(self, Self::Component | Self::Pump | Self::Tee)
    }
}

/// For each formula where the loss of a part stands: -1 is the least that may be lost, 0 the likely value, 1 the most;
/// of a pump, 1 is the weakest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Stance([f64; Formula::ALL.len()]);

impl Stance {
    /// Everything at its likely value.
    pub(super) const LIKELY: Self = Self([0.0; Formula::ALL.len()]);

    /// Everything at one end, apart from what close bends do to each other, of which a part alone knows nothing.
    pub(super) fn of(side: Side) -> Self {
        Self([side.place(); Formula::ALL.len()]).with(Formula::CloseBends, 0.0)
    }

    pub(super) fn at(&self, formula: Formula) -> f64 {
        self.0[formula as usize]
    }

    pub(super) fn with(mut self, formula: Formula, at: f64) -> Self {
        self.0[formula as usize] = at;
        self
    }
}
