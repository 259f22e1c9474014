//! Numbers, directions and terms as people read them.

use crate::bridge::Sampling;

/// `value` with `decimals` places, without a minus sign on what rounds to zero.
pub(in crate::report) fn fixed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| matches!(c, '0' | '.')) => rest.to_owned(),
        _ => text,
    }
}

/// A count with its thousands set off by commas; beyond 10^15, where no digit after the third informs anybody, a
/// power of ten.
#[cfg(feature = "text")]
pub(in crate::report) fn count(value: f64) -> String {
    if value.is_nan() || value.abs() >= 1e15 {
        return format!("{value:.2e}");
    }
    let digits = format!("{:.0}", value.max(0.0));
    let mut text = String::with_capacity(digits.len() + digits.len() / 3);
    for (index, digit) in digits.chars().enumerate() {
        if index > 0 && (digits.len() - index) % 3 == 0 {
            text.push(',');
        }
        text.push(digit);
    }
    text
}

/// A whole count; see [`count`].
#[cfg(feature = "text")]
pub(in crate::report) fn whole(value: u64) -> String {
    // Above 2^53 the conversion rounds, far beyond where `count` stops printing digits.
    #[allow(clippy::cast_precision_loss)]
    count(value as f64)
}

/// `1 part`, `2 parts`.
#[cfg(feature = "text")]
pub(in crate::report) fn plural(number: usize, one: &str) -> String {
    if number == 1 { format!("1 {one}") } else { format!("{number} {one}s") }
}

/// `a, b and c`.
pub(in crate::report) fn joined(items: &[String]) -> String {
    match items {
        [most @ .., last] if !most.is_empty() => format!("{} and {last}", most.join(", ")),
        _ => items.join(""),
    }
}

/// A direction in the layout's axes: `+z` when it lies along an axis as far as it is written, else three components.
pub(in crate::report) fn direction(vector: [f64; 3]) -> String {
    let written = vector.map(|component| fixed(component, 2));
    for (axis, name) in ["x", "y", "z"].into_iter().enumerate() {
        if (0..3).filter(|&other| other != axis).all(|other| written[other] == "0.00") {
            return format!("{}{name}", if vector[axis] < 0.0 { '-' } else { '+' });
        }
    }
    written.join(" ")
}

#[cfg(all(test, feature = "text"))]
mod tests {
    use super::{count, direction, fixed, whole};

    #[test]
    fn numbers_read_well() {
        assert_eq!(fixed(-0.004, 2), "0.00");
        assert_eq!(fixed(-0.006, 2), "-0.01");
        assert_eq!(fixed(12.345, 1), "12.3");
        assert_eq!(whole(0), "0");
        assert_eq!(whole(999), "999");
        assert_eq!(whole(1_234_567), "1,234,567");
        assert_eq!(count(2.5e17), "2.50e17");
    }

    #[test]
    fn directions_are_named_where_they_lie_along_an_axis() {
        assert_eq!(direction([0.0, 0.0, -1.0]), "-z");
        assert_eq!(direction([1e-5, 1.0, 0.0]), "+y");
        assert_eq!(direction([0.6, -0.0001, -0.8]), "0.60 0.00 -0.80");
        // Never `0.00 -1.00 0.00`.
        assert_eq!(direction([0.0049, -0.99998, -0.003]), "-y");
        assert_eq!(direction([0.0051, -0.99998, 0.0]), "0.01 -1.00 0.00");
    }
}

/// The kinds of chains of which not every posture was considered.
pub(in crate::report) fn sampled_kinds(kinds: &[Sampling]) -> String {
    let words: Vec<&str> = kinds
        .iter()
        .map(|kind| match kind {
            Sampling::ManyTurns => "chains of six or more bends, and chains of several offsets and bends",
            Sampling::SharedLength => "chains with several adjustable parts in one straight run",
            Sampling::MovesTwoWays => "chains that can still move in two independent ways once they are joined",
            Sampling::MotionNotFollowed => {
                "chains that can still move once they are joined, where the motion could not be followed to its end"
            }
        })
        .collect();
    words.join("; ")
}
