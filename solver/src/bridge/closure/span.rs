//! A length that may be adjustable, and how finely lengths are told apart.

/// Finest difference of lengths told apart when links are classed, in millimetres. Smaller differences are far
/// below any closure allowance; a larger grain would merge parts that a drawing tells apart.
const LENGTH_GRAIN_MM: f64 = 1e-6;

/// Widest stretch of an adjustable run that one length stands for, in millimetres, where a closed form needs a
/// number: it is tried at the middle of each such stretch and then polished over the whole range. Wider would cost
/// fewer tries and risk a start too far away to polish.
pub(in crate::bridge) const STRETCH_STEP_MM: f64 = 2.0;

/// A length that may be adjustable.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(in crate::bridge) struct Span {
    pub(in crate::bridge) shortest: f64,
    pub(in crate::bridge) longest: f64,
}

impl Span {
    pub(in crate::bridge) fn plus(self, other: Self) -> Self {
        Self { shortest: self.shortest + other.shortest, longest: self.longest + other.longest }
    }

    /// What holds both.
    pub(in crate::bridge) fn around(self, other: Self) -> Self {
        Self { shortest: self.shortest.min(other.shortest), longest: self.longest.max(other.longest) }
    }

    /// Whether it cannot be adjusted.
    pub(in crate::bridge) fn is_fixed(self) -> bool {
        self.longest <= self.shortest
    }

    /// A whole-number key under which equal spans sort together, shortest first.
    pub(in crate::bridge) fn key(self) -> (i64, i64) {
        (grains(self.shortest), grains(self.longest))
    }
}

/// The lengths at which a run of this span is tried: at each, the length and how far to either side it stands for.
pub(in crate::bridge) fn tries(Span { shortest, longest }: Span) -> impl Iterator<Item = (f64, f64)> + use<> {
    let stretch = longest - shortest;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a small positive count")]
    let steps = (stretch / STRETCH_STEP_MM).ceil().max(1.0) as u32;
    let half = stretch / f64::from(steps) / 2.0;
    (0..steps).map(move |step| (shortest + half * f64::from(2 * step + 1), half))
}

pub(in crate::bridge) fn grains(length: f64) -> i64 {
    #[expect(clippy::cast_possible_truncation, reason = "lengths are under 10 m by validation")]
    let whole = (length / LENGTH_GRAIN_MM).round() as i64;
    whole
}
