//! A share of builds and how surely it is known.

/// A share counted among samples, with its interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Share {
    /// The share counted, from 0 to 1.
    pub share: f64,
    /// Lower end of the 95 % interval.
    pub low: f64,
    /// Upper end of the 95 % interval.
    pub high: f64,
}

/// Standard deviations to either side that hold 95 % of a normal distribution.
const NORMAL_95: f64 = 1.959_963_984_540_054;

impl Share {
    /// `hits` of `samples`, with the score interval of E. B. Wilson, "Probable inference, the law of succession, and
    /// statistical inference", 1927. It stays within 0 and 1 and is never of no width, also when nothing or all was
    /// hit.
    pub(super) fn of(hits: usize, samples: usize) -> Self {
        #[expect(clippy::cast_precision_loss, reason = "counts of builds are far below 2^53")]
        let (hits, samples) = (hits as f64, samples.max(1) as f64);
        let share = hits / samples;
        let z2 = NORMAL_95 * NORMAL_95 / samples;
        let centre = (share + z2 / 2.0) / (1.0 + z2);
        let half = (z2 * (share * (1.0 - share) + z2 / 4.0)).sqrt() / (1.0 + z2);
        Self { share, low: (centre - half).clamp(0.0, share), high: (centre + half).clamp(share, 1.0) }
    }

    /// Whether `share` lies in the interval.
    #[must_use]
    pub fn contains(&self, share: f64) -> bool {
        (self.low..=self.high).contains(&share)
    }
}

#[cfg(test)]
mod tests {
    use super::Share;

    #[test]
    fn ends_of_the_interval_solve_the_score_equation() {
        for (hits, samples) in [(0, 10), (81, 263), (500, 1000), (10, 10)] {
            let found = Share::of(hits, samples);
            // Each end is a share from which the counted one is exactly 1.96 standard deviations away.
            for end in [found.low, found.high] {
                let n = f64::from(u32::try_from(samples).unwrap_or_default());
                let away = (found.share - end).powi(2) - 1.959_963_984_540_054_f64.powi(2) * end * (1.0 - end) / n;
                assert!(away.abs() < 1e-12, "{hits} of {samples}: {found:?}");
            }
            assert!(found.low < found.high && found.contains(found.share));
        }
    }
}
