//! Bends that follow each other so closely that they do not act alone.

use super::{Network, NodeId};
use crate::hydraulics::Element;
use std::fmt;

/// Distance in bores below which two bends do not act alone. Common practice: the flow needs five to ten bores behind
/// a bend to settle.
const CLOSE_BENDS: f64 = 5.0;

/// Two bends that follow each other closely.
#[derive(Clone, Debug, PartialEq)]
pub struct ClosePair {
    /// The part with the first bend.
    pub first: String,
    /// The part with the second, perhaps the same.
    pub second: String,
    /// How far they are apart along the centreline, in metres.
    pub apart_m: f64,
    /// The smaller of their bores, in metres.
    pub bore_m: f64,
}

impl ClosePair {
    /// How many bores they are apart.
    #[must_use]
    pub fn bores_apart(&self) -> f64 {
        self.apart_m / self.bore_m
    }
}

impl fmt::Display for ClosePair {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.first == self.second {
            write!(f, "two in `{}`", self.first)?;
        } else {
            write!(f, "`{}` and `{}`", self.first, self.second)?;
        }
        write!(f, " ({:.0} mm, {:.1} bores)", self.apart_m * 1e3, self.bores_apart())
    }
}

/// The pairs of neighbouring bends in a circuit that are too close, the closest (in bores) first: within a part, and
/// from part to part through straight ones where just two parts meet. What lies behind a component acts alone.
pub(super) fn close_pairs(network: &Network) -> Vec<ClosePair> {
    let walk = Walk::new(network);
    let mut pairs = Vec::new();
    for (index, part) in network.parts.iter().enumerate() {
        let Some(bends) = &walk.bends[index] else { continue };
        let name = |part: usize| network.parts[part].name.clone();
        for pair in bends.along.windows(2) {
            let [(before, bore_before), (after, bore_after)] = [pair[0], pair[1]];
            pairs.push(ClosePair {
                first: name(index),
                second: name(index),
                apart_m: after - before,
                bore_m: bore_before.min(bore_after),
            });
        }
        for (node, forward) in [(part.to, true), (part.from, false)] {
            // From either end of a pair the other is found; once is enough.
            let Some(found) = walk.next_bend(index, node).filter(|found| found.part > index) else { continue };
            let (own_m, own_bore_m) = bends.outermost(forward);
            let (first, second) = if forward { (index, found.part) } else { (found.part, index) };
            pairs.push(ClosePair {
                first: name(first),
                second: name(second),
                apart_m: own_m + found.distance_m,
                bore_m: own_bore_m.min(found.bore_m),
            });
        }
    }
    pairs.retain(|pair| pair.bores_apart() < CLOSE_BENDS);
    pairs.sort_by(|a, b| a.bores_apart().total_cmp(&b.bores_apart()));
    pairs
}

/// The bends of a part: how far each is along it and in what bore.
struct Bends {
    along: Vec<(f64, f64)>,
    length_m: f64,
}

impl Bends {
    /// How far the outermost bend is from the part's end (or start, unless `forward`), and its bore.
    fn outermost(&self, forward: bool) -> (f64, f64) {
        let outermost = if forward { self.along.last() } else { self.along.first() };
        let (at_m, bore_m) = outermost.copied().unwrap_or((0.0, f64::INFINITY));
        (if forward { self.length_m - at_m } else { at_m }, bore_m)
    }
}

/// A bend that was come upon.
struct Found {
    part: usize,
    /// From where the walk began.
    distance_m: f64,
    bore_m: f64,
}

/// What it takes to walk from a part to the next bend.
struct Walk<'a> {
    network: &'a Network,
    /// Those of each part that is a fitting or a tube; `None` elsewhere and where there are none.
    bends: Vec<Option<Bends>>,
    /// Length of each part that is a straight fitting or tube.
    straight_m: Vec<Option<f64>>,
    /// The first two parts at each node, and how many there are.
    meeting: Vec<([usize; 2], usize)>,
}

impl<'a> Walk<'a> {
    fn new(network: &'a Network) -> Self {
        let mut meeting = vec![([0; 2], 0_usize); network.nodes.len()];
        let (mut bends, mut straight_m) = (Vec::new(), Vec::new());
        for (index, part) in network.parts.iter().enumerate() {
            for NodeId(node) in [part.from, part.to] {
                let (parts, count) = &mut meeting[node];
                if let Some(place) = parts.get_mut(*count) {
                    *place = index;
                }
                *count += 1;
            }
            let found = bends_of(&part.elements);
            straight_m.push(found.as_ref().filter(|found| found.along.is_empty()).map(|found| found.length_m));
            bends.push(found.filter(|found| !found.along.is_empty()));
        }
        Self { network, bends, straight_m, meeting }
    }

    /// The first bend behind `node`, coming from `part`, through straight parts alone.
    fn next_bend(&self, mut part: usize, NodeId(mut node): NodeId) -> Option<Found> {
        let mut distance_m = 0.0;
        // A circuit of straight parts alone must not be walked for ever.
        for _ in 0..self.network.parts.len() {
            let (parts, 2) = self.meeting[node] else { return None };
            let next = if parts[0] == part { parts[1] } else { parts[0] };
            let enters_at_start = self.network.parts[next].from == NodeId(node);
            if let Some(bends) = &self.bends[next] {
                let (inside_m, bore_m) = bends.outermost(!enters_at_start);
                return Some(Found { part: next, distance_m: distance_m + inside_m, bore_m });
            }
            distance_m += self.straight_m[next]?;
            let NodeId(behind) =
                if enters_at_start { self.network.parts[next].to } else { self.network.parts[next].from };
            (part, node) = (next, behind);
        }
        None
    }
}

/// The bends of a fitting or tube. `None` for anything else, and for nothing. Bends whose place is not stated are
/// taken to divide their passage evenly.
fn bends_of(elements: &[Element]) -> Option<Bends> {
    if elements.is_empty() {
        return None;
    }
    let mut found = Bends { along: Vec::new(), length_m: 0.0 };
    for element in elements {
        let passage = match element {
            Element::Passage(passage) => passage,
            Element::Step(_) => continue,
            _ => return None,
        };
        let count = passage.bends().len();
        for (index, bend) in passage.bends().iter().enumerate() {
            let evenly = passage.length_m() * (index + 1) as f64 / (count + 1) as f64;
            found.along.push((found.length_m + bend.at_m.unwrap_or(evenly), passage.bore_m()));
        }
        found.length_m += passage.length_m();
    }
    Some(found)
}
