//! One order in which the chains of several gaps can be made up.
//!
//! A chain that can be made up beside some others can be made up beside fewer of them: what stands there only takes room, and
//! only holds components. So the order is found from its end, without trying all of them: whichever chain can be made up beside
//! all others may come last, and what is left is a smaller question of the same kind. Where no chain can come last, no order
//! exists of the motions that are tried.

use crate::{
    bridge::{BadWish, Chain, MakeUp, MakeUpWishes, Neighbour, make_up_beside},
    catalog::Catalog,
    layout::{Gap, Layout},
};

/// A chain and the gap it bridges.
#[derive(Clone, Copy, Debug)]
pub(super) struct Placed<'a> {
    pub(super) gap: Gap,
    pub(super) chain: &'a Chain,
}

/// What came of looking for an order.
pub(super) enum Order {
    /// The chains in the order in which they are made up, each with how: by its place in the list.
    Found(Vec<(usize, MakeUp)>),
    /// Chains of which each stops the others, so that none of them can come last; fewer of them can be made up. Each with what
    /// stops it beside all others of them.
    Stuck(Vec<(usize, MakeUp)>),
}

/// Looks for an order of work for `chains`.
pub(super) fn order(
    catalog: &Catalog,
    layout: &Layout,
    chains: &[Placed<'_>],
    wishes: &MakeUpWishes,
) -> Result<Order, BadWish> {
    let question = Question { catalog, layout, chains, wishes };
    let (peeled, stuck) = question.peel((0..chains.len()).collect())?;
    if stuck.is_empty() {
        return Ok(Order::Found(peeled.into_iter().rev().collect()));
    }
    let mut core = stuck;
    for chain in core.clone() {
        let without: Vec<usize> = core.iter().copied().filter(|other| *other != chain).collect();
        let (_, still) = question.peel(without)?;
        if !still.is_empty() {
            core = still;
        }
    }
    let why = core.iter().map(|chain| Ok((*chain, question.last(*chain, &core)?)));
    Ok(Order::Stuck(why.collect::<Result<_, _>>()?))
}

struct Question<'a> {
    catalog: &'a Catalog,
    layout: &'a Layout,
    chains: &'a [Placed<'a>],
    wishes: &'a MakeUpWishes,
}

/// Chains in the order in which they were taken off, the last to be made up first, each with how it is made up.
type Peeled = Vec<(usize, MakeUp)>;

impl Question<'_> {
    /// Takes off chains that can come last until there are none left, or none of those that are can come last.
    fn peel(&self, mut left: Vec<usize>) -> Result<(Peeled, Vec<usize>), BadWish> {
        let mut peeled = Vec::new();
        'next: while !left.is_empty() {
            // The gaps of a circuit are listed as the coolant goes, which is the order that people expect.
            for place in (0..left.len()).rev() {
                let made = self.last(left[place], &left)?;
                if made.verdict.can_be_made_up() {
                    peeled.push((left.remove(place), made));
                    continue 'next;
                }
            }
            break;
        }
        Ok((peeled, left))
    }

    /// How a chain is made up as the last of some.
    fn last(&self, chain: usize, of: &[usize]) -> Result<MakeUp, BadWish> {
        let neighbour = |other: &usize| Neighbour { gap: self.chains[*other].gap, chain: self.chains[*other].chain };
        let standing: Vec<Neighbour<'_>> = of.iter().filter(|other| **other != chain).map(neighbour).collect();
        let Placed { gap, chain } = self.chains[chain];
        make_up_beside(self.catalog, self.layout, &gap, chain, &standing, self.wishes)
    }
}
