//! Random numbers that are the same on every machine.

use std::f64::consts::TAU;

/// A stream of random numbers.
///
/// The generator is SplitMix64 (G. L. Steele, D. Lea, C. H. Flood, "Fast splittable pseudorandom number generators",
/// 2014). It is spelled out here because shares must stay the same from one release of a library to the next.
pub(super) struct Draw {
    state: u64,
}

impl Draw {
    /// The stream number `stream` of a seed.
    pub(super) fn new(seed: u64, stream: u64) -> Self {
        let mut seeded = Self { state: seed };
        let seed = seeded.bits();
        let mut draw = Self { state: seed ^ stream.wrapping_mul(0xd134_2543_de82_ef95) };
        draw.state = draw.bits();
        draw
    }

    /// Two independent numbers from the normal distribution of mean 0 and deviation 1, by the method of G. E. P. Box
    /// and M. E. Muller, 1958.
    pub(super) fn normals(&mut self) -> [f64; 2] {
        let radius = (-2.0 * (1.0 - self.unit()).ln()).sqrt();
        let (sin, cos) = (TAU * self.unit()).sin_cos();
        [radius * cos, radius * sin]
    }

    /// A number from 0 up to, not including, 1.
    fn unit(&mut self) -> f64 {
        #[expect(clippy::cast_precision_loss, reason = "53 bits are exact")]
        let whole = (self.bits() >> 11) as f64;
        whole * 2.0_f64.powi(-53)
    }

    fn bits(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.state;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }
}

#[cfg(test)]
mod tests {
    use super::Draw;

    #[test]
    fn draws_are_normal_and_streams_independent() {
        let all: Vec<[f64; 2]> = (0..50_000).map(|stream| Draw::new(7, stream).normals()).collect();
        let n = 50_000.0;
        let mean = |of: &dyn Fn(&[f64; 2]) -> f64| all.iter().map(of).sum::<f64>() / n;
        // Each bound is four standard errors of its mean.
        for axis in 0..2 {
            assert!(mean(&|pair| pair[axis]).abs() < 0.018);
            assert!((mean(&|pair| pair[axis].powi(2)) - 1.0).abs() < 0.026);
            assert!((mean(&|pair| pair[axis].powi(4)) - 3.0).abs() < 0.18);
            assert!((mean(&|pair| f64::from(u8::from(pair[axis].abs() < 1.0))) - 0.682_689).abs() < 0.009);
        }
        assert!(mean(&|pair| pair[0] * pair[1]).abs() < 0.018);
        let neighbours: f64 = all.windows(2).map(|pair| pair[0][0] * pair[1][0]).sum::<f64>() / n;
        assert!(neighbours.abs() < 0.018);
    }
}
