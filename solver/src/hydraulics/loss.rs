//! A pressure loss with its slope, and how sure it is.

/// Pressure lost at one flow and how fast it grows with flow.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Loss {
    /// Pressure lost along the stated direction, in Pa; negative when the flow is.
    pub pa: f64,
    /// Growth of the loss with flow, in Pa per m³/s; never negative.
    pub slope: f64,
}

impl Loss {
    /// Both losses one after another.
    #[must_use]
    pub fn plus(self, other: Self) -> Self {
        Self { pa: self.pa + other.pa, slope: self.slope + other.slope }
    }

    /// The loss `factor` times as large.
    #[must_use]
    pub fn times(self, factor: f64) -> Self {
        Self { pa: self.pa * factor, slope: self.slope * factor }
    }

    /// The larger of two losses.
    #[must_use]
    pub(super) fn max(self, other: Self) -> Self {
        if other.pa > self.pa { other } else { self }
    }

    /// The smaller of two losses.
    #[must_use]
    pub(super) fn min(self, other: Self) -> Self {
        if other.pa < self.pa { other } else { self }
    }

    /// The same loss for a flow the other way.
    #[must_use]
    pub(super) fn turned(self) -> Self {
        Self { pa: -self.pa, slope: self.slope }
    }

    /// The loss with overflow caught: a loss too large for an `f64` becomes the largest, never a `NaN` that a
    /// comparison further on would silently swallow.
    #[must_use]
    pub(super) fn finite(self) -> Self {
        let caught = |value: f64| if value.is_finite() { value } else { f64::MAX };
        Self { pa: caught(self.pa), slope: caught(self.slope) }
    }
}

/// Extends a loss for flows of 0 or more to both directions by symmetry.
pub(super) fn both_ways(flow_m3_s: f64, forward: impl FnOnce(f64) -> Loss) -> Loss {
    let loss = forward(flow_m3_s.abs()).finite();
    if flow_m3_s == 0.0 {
        return Loss { pa: 0.0, slope: loss.slope };
    }
    if flow_m3_s < 0.0 { loss.turned() } else { loss }
}

/// Which end of the uncertainty of a loss is meant.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Side {
    /// The least that may be lost.
    Low,
    /// The most likely value.
    #[default]
    Likely,
    /// The most that may be lost.
    High,
}

impl Side {
    /// Where it is between the least and the most, from -1 to 1.
    pub(super) fn place(self) -> f64 {
        match self {
            Self::Low => -1.0,
            Self::Likely => 0.0,
            Self::High => 1.0,
        }
    }
}

/// How far a loss may lie from its likely value, as factors on it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band {
    /// The least, as a multiple of the likely value: more than 0, at most 1.
    pub low: f64,
    /// The most, as a multiple of the likely value: 1 or more.
    pub high: f64,
}

impl Band {
    /// No doubt at all.
    pub const EXACT: Self = Self { low: 1.0, high: 1.0 };

    /// A band of equal shares either way: 0.1 for ±10 %.
    #[must_use]
    pub const fn plus_minus(share: f64) -> Self {
        Self { low: 1.0 - share, high: 1.0 + share }
    }

    /// The factor of one end.
    #[must_use]
    pub const fn factor(self, side: Side) -> f64 {
        match side {
            Side::Low => self.low,
            Side::Likely => 1.0,
            Side::High => self.high,
        }
    }

    /// The factor at a place between the ends: -1 is the least, 0 the likely value, 1 the most. Beyond the least it
    /// falls ever more slowly, so that no loss turns into a gain.
    #[must_use]
    pub(super) fn factor_at(self, place: f64) -> f64 {
        if place >= 0.0 {
            1.0 + place * (self.high - 1.0)
        } else if place >= -1.0 {
            1.0 + place * (1.0 - self.low)
        } else {
            self.low * ((place + 1.0) * (1.0 - self.low) / self.low).exp()
        }
    }

    /// Whether the factors are in their ranges.
    #[must_use]
    pub fn is_valid(self) -> bool {
        self.low > 0.0 && self.low <= 1.0 && self.high >= 1.0 && self.high.is_finite()
    }
}
