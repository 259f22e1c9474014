//! What there is to say of the plan of a machine: its chains, the order of work, and what to get for it.

use super::{BridgeReport, GapReport, Outcome};
use crate::{
    bridge::{Chain, MakeUp, Together, together},
    catalog::Catalog,
    interference,
    layout::Layout,
    plan::{Conflict, Plan, PlanWishes, PlannedGap, Proof, Stock},
};
use std::{
    collections::{BTreeMap, BTreeSet},
    slice,
};

/// The plan of a machine as a report shows it.
#[derive(Clone, Debug, PartialEq)]
pub struct PlanReport {
    /// The gaps, each with the chains among which one was chosen, and which was.
    pub bridge: BridgeReport,
    /// For each gap, how its chain is made up beside those that come before it; `None` where the gap stays open.
    pub make_up: Vec<Option<MakeUp>>,
    /// Places of the gaps in the order in which their chains are made up.
    pub order: Vec<usize>,
    /// Parts of all chains.
    pub parts: u64,
    /// What they lose together, each gap at its own flow.
    pub loss_kpa: f64,
    /// Gaps that exclude each other.
    pub conflicts: Vec<Conflict>,
    /// What is proven.
    pub proof: Proof,
    /// What to get, by id.
    pub items: Vec<Item>,
    /// Ports of components in the circuit that no gap uses: each needs a plug.
    pub unused_ports: Vec<String>,
}

/// So many pieces of a fitting.
#[derive(Clone, Debug, PartialEq)]
pub struct Item {
    /// How many.
    pub pieces: usize,
    /// How many of them are at hand, so that only the others have to be got; none where no list of parts at hand was given.
    pub at_hand: usize,
    /// Its id in the catalog.
    pub fitting: String,
    /// Its plain name.
    pub name: String,
    /// The price of one, if it is known.
    pub each: Option<f64>,
}

impl Item {
    /// How many have to be got.
    #[must_use]
    pub fn to_get(&self) -> usize {
        self.pieces.saturating_sub(self.at_hand)
    }
}

impl PlanReport {
    /// Gathers what there is to say of `plan`, which `layout` was planned with `catalog` and `wishes`; `None` if they do not
    /// belong together.
    #[must_use]
    pub fn new(catalog: &Catalog, layout: &Layout, wishes: &PlanWishes<'_>, plan: &Plan) -> Option<Self> {
        let gap = |planned: &PlannedGap| {
            let report = GapReport::new(catalog, layout, planned.gap, planned.answer.clone())?;
            Some(report.with_make_up(planned.alone.clone(), false).at_flow(plan.flows.at(&planned.gap)))
        };
        let gaps: Vec<GapReport> = plan.gaps.iter().map(gap).collect::<Option<_>>()?;
        let allowances = layout.allowances();
        let chosen: Vec<Option<usize>> = plan.gaps.iter().map(|gap| gap.chosen).collect();
        let clearance_mm = wishes.search.clearance_mm.unwrap_or(allowances.clearance_mm);
        let alone: Vec<&[Chain]> = plan.gaps.iter().map(|gap| gap.chain().map_or(&[][..], slice::from_ref)).collect();
        let beside = together(catalog, &alone, clearance_mm).ok()?;
        let bridge = BridgeReport {
            layout: layout.name().to_owned(),
            max_parts: wishes.search.max_parts,
            want: wishes.search.want,
            ranking: super::Ranking::default(),
            clearance_mm,
            flow_l_min: plan.flows.l_min,
            flow_is: plan.flows.basis,
            closure_mm: allowances.closure_mm,
            closure_deg: allowances.closure_deg,
            overlaps: interference::overlaps(layout),
            gaps,
            together: Some(Together { chosen, ..beside }),
        };
        let chains: Vec<&Chain> = plan.gaps.iter().filter_map(PlannedGap::chain).collect();
        Some(Self {
            bridge,
            make_up: plan.gaps.iter().map(|gap| gap.make_up.clone()).collect(),
            order: plan.order.clone(),
            parts: plan.cost.parts,
            loss_kpa: plan.cost.loss_kpa(),
            conflicts: plan.conflicts.clone(),
            proof: plan.proof,
            items: items(catalog, &chains)?,
            unused_ports: unused_ports(layout),
        })
    }

    /// The same where some parts are at hand. Which chains are chosen does not depend on them.
    #[must_use]
    pub fn with_stock(mut self, stock: &Stock) -> Self {
        for item in &mut self.items {
            item.at_hand = stock.pieces(&item.fitting).min(item.pieces);
        }
        self
    }

    /// How it ended: a gap that is proven to have no chain, or is excluded by others, does not fit; what stays open without
    /// proof, and a plan that was given up, has no proof.
    #[must_use]
    pub fn outcome(&self) -> Outcome {
        let of_conflicts = self.conflicts.iter().map(|conflict| match conflict.proven {
            true => Outcome::DoesNotFit,
            false => Outcome::NoProof,
        });
        // Of a gap that has chains and stays open all the same, the conflicts or the proof tell.
        let gaps = self.bridge.gaps.iter().enumerate().filter(|(gap, _)| self.bridge.chosen(*gap).is_none());
        let of_set = match self.proof {
            Proof::GivenUp => Outcome::NoProof,
            Proof::Best | Proof::Found { .. } => Outcome::Fits,
        };
        Outcome::worst([of_set].into_iter().chain(of_conflicts).chain(gaps.map(|(_, gap)| gap.outcome())))
    }

    /// What all pieces that have to be got cost together, of those whose price is known, and of how many pieces it is not.
    #[must_use]
    pub fn price(&self) -> (f64, usize) {
        let known = self.items.iter().filter_map(|item| Some(item.each? * item.to_get() as f64)).sum();
        let unknown = self.items.iter().filter(|item| item.each.is_none()).map(Item::to_get).sum();
        (known, unknown)
    }

    /// The list of parts, as comma-separated values with a head: pieces to get, pieces at hand, id, name, price of one.
    #[must_use]
    pub fn items_csv(&self) -> String {
        let quoted = |text: &str| format!("\"{}\"", text.replace('"', "\"\""));
        let row = |item: &Item| {
            let each = item.each.map_or_else(String::new, |each| format!("{each:.2}"));
            format!("{},{},{},{},{each}\n", item.to_get(), item.at_hand, item.fitting, quoted(&item.name))
        };
        std::iter::once("to get,at hand,id,name,price of one\n".to_owned()).chain(self.items.iter().map(row)).collect()
    }
}

/// The pieces of all chains, summed by fitting, in the order of their ids.
fn items(catalog: &Catalog, chains: &[&Chain]) -> Option<Vec<Item>> {
    let mut pieces: BTreeMap<&str, usize> = BTreeMap::new();
    for part in chains.iter().flat_map(|chain| &chain.parts) {
        *pieces.entry(part.fitting.as_str()).or_default() += 1;
    }
    let item = |(id, pieces): (&str, usize)| {
        let fitting = catalog.fitting(id)?;
        Some(Item { pieces, at_hand: 0, fitting: id.to_owned(), name: fitting.name.clone(), each: fitting.price })
    };
    pieces.into_iter().map(item).collect()
}

/// Ports that no gap uses, of components of which a gap uses another, in the order of the layout.
fn unused_ports(layout: &Layout) -> Vec<String> {
    let used: BTreeSet<_> = layout.gaps().iter().flat_map(|gap| [gap.from, gap.to]).collect();
    let wet: BTreeSet<_> = used.iter().filter_map(|port| layout.port_by_id(*port)).map(|port| port.body).collect();
    let unused = layout.ports_by_id().filter(|(id, port)| !used.contains(id) && wet.contains(&port.body));
    unused.map(|(_, port)| port.name.clone()).collect()
}
