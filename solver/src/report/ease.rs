//! How easily a chain is aimed, and which chain would be easier for little more loss.

use super::{GapReport, PartReport};

/// Turns nearer to a multiple of a right angle than this are one, in degrees: what one sees at a glance.
const SQUARE_DEG: f64 = 1.0;

/// How much more a chain may lose and still be worth a word, in kilopascals.
const LITTLE_KPA: f64 = 0.5;

/// How many more builds in 100 must close to be worth a word.
const MORE_BUILDS: f64 = 10.0;

/// How many parts of a chain have to be aimed at an odd angle: one that is neither in line with the bend before, nor opposite
/// or at a right angle to it. The first of them has no bend before it, and counts where its free end does not point along an
/// axis of the machine, so that nothing is there to check it against.
#[must_use]
pub fn odd_turns(parts: &[PartReport]) -> usize {
    let aimed = parts.iter().filter_map(|part| Some((part.turn_deg?, part.heads)));
    aimed
        .enumerate()
        .filter(|(index, (turn_deg, heads))| if *index == 0 { !is_along_axis(*heads) } else { !is_square(*turn_deg) })
        .count()
}

fn is_square(turn_deg: f64) -> bool {
    let off = turn_deg.rem_euclid(90.0);
    off.min(90.0 - off) <= SQUARE_DEG
}

fn is_along_axis(heads: [f64; 3]) -> bool {
    heads.iter().any(|along| along.abs() >= SQUARE_DEG.to_radians().cos())
}

/// A listed chain of as many parts as the first that loses little more and has something to be said for it. Chains are
/// counted from 0.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Easier {
    /// Fewer of its parts are aimed at odd angles.
    Aimed {
        /// The chain.
        chain: usize,
        /// How many of its parts are.
        odd: usize,
        /// How many of the first chain's are.
        first_odd: usize,
        /// How much more it loses.
        more_kpa: f64,
    },
    /// More of its builds close.
    Slack {
        /// The chain.
        chain: usize,
        /// How many in 100 do.
        builds: f64,
        /// How many of the first chain's do.
        first_builds: f64,
        /// How much more it loses.
        more_kpa: f64,
    },
}

impl GapReport {
    /// Which of the chains listed is easier than the first for little more loss, and in what; at most one of each kind.
    #[must_use]
    pub fn easier(&self) -> Vec<Easier> {
        let (Some(first), Some(first_parts), None) = (self.answer.chains.first(), self.chains.first(), self.compared)
        else {
            // None are listed, or in an order that was asked for: then the first is first on purpose.
            return Vec::new();
        };
        let can = |chain: usize| self.make_up.is_empty() || self.can_be_made_up(chain) || !self.can_be_made_up(0);
        let others: Vec<(usize, f64)> = (1..self.listed.min(self.answer.chains.len()))
            .filter(|chain| can(*chain) && self.answer.chains[*chain].parts.len() == first.parts.len())
            .map(|chain| (chain, self.answer.chains[chain].loss_kpa - first.loss_kpa))
            .filter(|(_, more_kpa)| *more_kpa <= LITTLE_KPA)
            .collect();
        let first_odd = odd_turns(first_parts);
        let odd = |chain: usize| self.chains.get(chain).map_or(usize::MAX, |parts| odd_turns(parts));
        // The first of equals, which ranks best.
        let aimed = others.iter().min_by_key(|(chain, _)| odd(*chain)).filter(|(chain, _)| odd(*chain) < first_odd);
        let aimed = aimed.map(|&(chain, more_kpa)| Easier::Aimed { chain, odd: odd(chain), first_odd, more_kpa });
        let builds = |chain: usize| self.slack.get(chain).map(|slack| slack.share.share * 100.0);
        let slack = builds(0).and_then(|first_builds| {
            let closing = others.iter().filter_map(|&(chain, more_kpa)| Some((chain, builds(chain)?, more_kpa)));
            let most = closing.reduce(|most, next| if next.1 > most.1 { next } else { most });
            let (chain, builds, more_kpa) = most.filter(|(_, builds, _)| *builds >= first_builds + MORE_BUILDS)?;
            Some(Easier::Slack { chain, builds, first_builds, more_kpa })
        });
        aimed.into_iter().chain(slack).collect()
    }
}
