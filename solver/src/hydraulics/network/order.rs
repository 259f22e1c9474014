//! In which order the parts of a single loop would keep the hottest of them coolest.

use super::{Network, Outcome};

/// Another order of some parts of a loop.
#[derive(Clone, Debug, PartialEq)]
pub struct Order {
    /// The parts, by their positions in [`Outcome::parts`], in the order in which coolant would pass them.
    pub parts: Vec<usize>,
    /// The hottest as they stand, in °C.
    pub before_celsius: f64,
    /// The hottest in that order, in °C.
    pub after_celsius: f64,
}

/// Most parts whose orders are all tried: seven have five thousand.
const MOST_MOVED: usize = 7;

impl Network {
    /// The order of the `moved` parts, which change places among each other, in which the hottest is coolest; `hot` says
    /// how hot a part is by the mean temperature of its coolant. Flows stay as they are, since parts in a row lose the same
    /// in any order. `None` where the circuit is not a single loop, where there are too few parts or too many to try all
    /// their orders, and where heat has no way out.
    #[must_use]
    pub fn coolest_order(&self, outcome: &Outcome, moved: &[usize], hot: impl Fn(usize, f64) -> f64) -> Option<Order> {
        if !(2..=MOST_MOVED).contains(&moved.len()) {
            return None;
        }
        let passing = self.loop_of_passings(outcome)?;
        // Where the moved parts stand now, along the flow.
        let slots: Vec<usize> = (0..passing.len()).filter(|&at| moved.contains(&passing[at].0)).collect();
        if slots.len() != moved.len() {
            return None;
        }
        let hottest = |order: &[usize]| -> Option<f64> {
            let mut ring: Vec<(usize, f64, f64)> = passing.clone();
            for (&slot, &from) in slots.iter().zip(order) {
                ring[slot] = passing[slots[from]];
            }
            // Once round: what enters the first part is what leaves the last.
            let (kept, added) =
                ring.iter().fold((1.0, 0.0), |(kept, added), part| (part.1 * kept, part.1 * added + part.2));
            let mut celsius = added / (1.0 - kept);
            let mut most = f64::NEG_INFINITY;
            for &(part, kept, added) in &ring {
                let out = kept * celsius + added;
                if moved.contains(&part) {
                    most = most.max(hot(part, f64::midpoint(celsius, out)));
                }
                celsius = out;
            }
            most.is_finite().then_some(most)
        };
        let mut order: Vec<usize> = (0..slots.len()).collect();
        let before_celsius = hottest(&order)?;
        let (mut best, mut after_celsius) = (order.clone(), before_celsius);
        // Heap's algorithm: each step exchanges two.
        let mut counts = vec![0; order.len()];
        let mut at = 0;
        while at < order.len() {
            if counts[at] < at {
                order.swap(if at % 2 == 0 { 0 } else { counts[at] }, at);
                if let Some(celsius) = hottest(&order).filter(|celsius| *celsius < after_celsius - 1e-9) {
                    (best, after_celsius) = (order.clone(), celsius);
                }
                counts[at] += 1;
                at = 0;
            } else {
                counts[at] = 0;
                at += 1;
            }
        }
        let parts = best.into_iter().map(|from| passing[slots[from]].0).collect();
        Some(Order { parts, before_celsius, after_celsius })
    }
}
