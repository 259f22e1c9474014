//! How many sequences of parts there are of each kind, by the way in which the search goes through them.

use crate::bridge::stock::Stock;
use std::collections::BTreeMap;

/// How the search goes through chains: which turning parts they have decides it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::bridge) enum Method {
    /// Directions first, lengths looked up.
    Direct,
    /// Halves that meet.
    Halves,
    /// Trails followed from one port to the other.
    Trails,
}

/// Most turning parts in a chain whose directions are worked out first, before its lengths.
pub(super) const MOST_DIRECT: usize = 2;

/// Most bends that the closed forms close.
pub(super) const CLOSED_FORMS: usize = 5;

/// Most offsets and most turning parts of a chain that is not followed as a trail.
const OFFSETS: usize = 1;
const TURNS: usize = CLOSED_FORMS;

/// Sequences of one part count: by offsets and turning parts, and those that are followed as trails.
#[derive(Clone, Debug, Default)]
pub(in crate::bridge) struct Kinds {
    closed_forms: [[f64; TURNS + 1]; OFFSETS + 1],
    trails: f64,
}

impl Kinds {
    /// Counts the sequences that the threads allow between the two ports: of one part, of two, and so on.
    pub(super) fn of_each(stock: &Stock, max_parts: usize) -> Vec<Self> {
        let links = links(stock);
        let mut reached = vec![Self::default(); stock.mates.len()];
        reached[stock.from].closed_forms[0][0] = 1.0;
        let mut kinds = Vec::with_capacity(max_parts);
        for _ in 0..max_parts {
            let mut next = vec![Self::default(); reached.len()];
            for ((entry, exit), ways) in &links {
                let mut before = Self::default();
                let mating = reached.iter().zip(&stock.mates[*entry]).filter(|(_, mates)| **mates);
                mating.for_each(|(counted, _)| before.add(counted));
                next[*exit].add(&before.with(ways));
            }
            reached = next;
            let mut whole = Self::default();
            let last = reached.iter().enumerate().filter(|(exit, _)| stock.mates[*exit][stock.to]);
            last.for_each(|(_, counted)| whole.add(counted));
            kinds.push(whole);
        }
        kinds
    }

    /// How many there are.
    pub(in crate::bridge) fn total(&self) -> f64 {
        self.closed_forms.iter().flatten().sum::<f64>() + self.trails
    }

    /// How many have so many offsets and bends, in chains that are closed by closed forms.
    pub(in crate::bridge) fn of(&self, offsets: usize, bends: usize) -> f64 {
        self.closed_forms.get(offsets).and_then(|row| row.get(offsets + bends)).copied().unwrap_or(0.0)
    }

    /// How many the search goes through in this way.
    pub(in crate::bridge) fn by(&self, method: Method) -> f64 {
        let turns = |least: usize, most: usize| self.closed_forms.iter().flat_map(|row| &row[least..=most]).sum();
        match method {
            Method::Direct => turns(0, MOST_DIRECT),
            Method::Halves => turns(MOST_DIRECT + 1, TURNS),
            Method::Trails => self.trails,
        }
    }

    fn add(&mut self, other: &Self) {
        let cells = self.closed_forms.iter_mut().flatten().zip(other.closed_forms.iter().flatten());
        cells.for_each(|(cell, more)| *cell += more);
        self.trails += other.trails;
    }

    /// These sequences with one link more.
    fn with(&self, ways: &Ways) -> Self {
        let mut longer = Self { trails: self.trails * ways.all(), ..Self::default() };
        for (offsets, row) in self.closed_forms.iter().enumerate() {
            for (turns, count) in row.iter().enumerate().filter(|(_, count)| **count > 0.0) {
                longer.closed_forms[offsets][turns] += count * ways.straights;
                longer.trails += count * ways.others;
                for (offsets, ways) in [(offsets, ways.bends), (offsets + 1, ways.offsets)] {
                    let cell = longer.closed_forms.get_mut(offsets).and_then(|row| row.get_mut(turns + 1));
                    *cell.unwrap_or(&mut longer.trails) += count * ways;
                }
            }
        }
        longer
    }
}

/// Links between two classes of ends.
#[derive(Clone, Copy, Debug, Default)]
struct Ways {
    straights: f64,
    bends: f64,
    offsets: f64,
    others: f64,
}

impl Ways {
    fn all(&self) -> f64 {
        self.straights + self.bends + self.offsets + self.others
    }
}

fn links(stock: &Stock) -> BTreeMap<(usize, usize), Ways> {
    let mut links: BTreeMap<_, Ways> = BTreeMap::new();
    for straight in &stock.straights {
        links.entry((straight.entry, straight.exit)).or_default().straights += 1.0;
    }
    for class in &stock.turns {
        let ways = links.entry((class.entry, class.exit)).or_default();
        let kind = if class.turn.is_bend() {
            &mut ways.bends
        } else if class.offset.is_some() {
            &mut ways.offsets
        } else {
            &mut ways.others
        };
        #[expect(clippy::cast_precision_loss, reason = "at most twice the parts of a catalog")]
        let members = class.links.len() as f64;
        *kind += members;
    }
    links
}

/// How chains with so many turning parts in the two halves divide by where their straight parts are.
pub(super) struct Split {
    /// Bends in the first half and in the second.
    pub(in crate::bridge) turns: [usize; 2],
    pub(in crate::bridge) offsets: usize,
    pub(in crate::bridge) straights: usize,
}

impl Split {
    /// Ways to put so many of the straight parts into the runs of the first half and of the second, and the offsets between
    /// their bends, if the first has so many of these; the rest of the straight parts is between the halves.
    pub(in crate::bridge) fn ways(&self, offsets_in_first: usize, straights: [usize; 2]) -> f64 {
        let offsets = [offsets_in_first, self.offsets - offsets_in_first];
        let half = |half: usize| {
            let turns = self.turns[half] + offsets[half];
            let offsets = if offsets[half] > 0 { turns } else { 1 };
            offsets * spread(straights[half], turns)
        };
        #[expect(clippy::cast_precision_loss, reason = "small numbers")]
        let ways = (half(0) * half(1)) as f64;
        ways
    }

    /// All of them together.
    pub(in crate::bridge) fn whole(&self) -> f64 {
        let firsts =
            (0..=self.straights).flat_map(|first| (0..=self.straights - first).map(move |second| [first, second]));
        firsts.flat_map(|straights| (0..=self.offsets).map(move |offsets| self.ways(offsets, straights))).sum()
    }
}

/// Ways to put so many equal things into so many places.
fn spread(things: usize, places: usize) -> usize {
    (1..places).fold(1, |ways, place| ways * (things + place) / place)
}

#[cfg(test)]
mod tests {
    use super::{Split, spread};

    #[test]
    fn things_are_spread_over_places_in_every_way() {
        let counted: Vec<usize> = (1..=4).map(|places| spread(3, places)).collect();
        assert_eq!(counted, [1, 4, 10, 20]);
    }

    /// Counted by hand: two straight parts, one bend before the middle run and one after it, so three places for each.
    #[test]
    fn ways_add_up() {
        assert_eq!(Split { turns: [1, 1], offsets: 0, straights: 2 }.whole(), 6.0);
    }
}
