//! Numbers as programs read them: rounded where more digits would only be noise.

/// Rounds to a millionth, which is far below any tolerance here, and leaves no minus sign on zero.
pub(super) fn tidy(value: f64) -> f64 {
    rounded(value, 1e6)
}

/// Rounds to 10^-12, for quaternions: a lever of 10 m then moves by a hundredth of a micrometre.
pub(super) fn fine(value: f64) -> f64 {
    rounded(value, 1e12)
}

fn rounded(value: f64, steps: f64) -> f64 {
    let scaled = value * steps;
    // Beyond 2^53 there is nothing left to round away.
    if scaled.abs() < 9e15 { scaled.round() / steps + 0.0 } else { value }
}

#[cfg(test)]
mod tests {
    use super::{fine, tidy};

    #[test]
    fn noise_goes_and_values_stay() {
        assert_eq!(tidy(0.1 + 0.2).to_string(), "0.3");
        assert_eq!(tidy(-1e-9).to_string(), "0");
        assert_eq!(tidy(1e300), 1e300);
        assert_eq!(fine(std::f64::consts::FRAC_1_SQRT_2).to_string(), "0.707106781187");
    }
}
