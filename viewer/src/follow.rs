//! The scene follows the desk: what the desk holds, as the scene's own terms.

use crate::desk::{
    Desk,
    view::{Background, Item as Hidden, Projection},
};
use crate::look::{Section, Show, eye::Eye};
use crate::scene::{Item, Near, Subject};
use elbowroom::{interference, interference::Interference, layout::Layout};
use std::sync::Arc;

/// What was followed last, so that what has not changed is not worked out again.
#[derive(Clone, Debug, Default)]
pub struct Followed {
    machine: Option<(Arc<Layout>, Arc<Interference>)>,
}

impl Followed {
    /// What there is to draw.
    pub fn subject(&mut self, desk: &Desk) -> Subject {
        let layout = desk.shared_layout();
        let findings = match &self.machine {
            Some((known, findings)) if Arc::ptr_eq(known, layout) => findings.clone(),
            _ => Arc::new(interference::check(layout)),
        };
        self.machine = Some((layout.clone(), findings.clone()));
        let gap = desk.gap().and_then(|gap| layout.gaps().get(gap).copied());
        let others = (0..layout.gaps().len()).filter(|gap| Some(*gap) != desk.gap());
        let others = others.filter_map(|gap| Some((gap, desk.standing_chain(gap)?.clone()))).collect();
        let near = desk.near().map(|near| Near {
            chain: near.chain().clone(),
            by: near.by(),
            carried: near.carried().to_vec(),
            // While a move is shown, what was in the way without it is not.
            blockers: if near.by().is_none() { desk.blockers().to_vec() } else { Vec::new() },
            lacks: near.lacks().cloned(),
        });
        let (layout, catalog) = (layout.clone(), desk.shared_catalog().clone());
        let clashes = desk.shown_chain().map_or(&[][..], |chain| desk.clashes(chain));
        let clashes = clashes.iter().map(|clash| clash.gap).collect();
        Subject { gap, chain: desk.chain().cloned(), others, clashes, near, layout, catalog, findings }
    }
}

/// How the desk wants the scene shown.
#[must_use]
pub fn shown(desk: &Desk) -> Show {
    let options = desk.view_options();
    let bodies = (0..desk.layout().bodies().len()).filter(|body| desk.hidden(&Hidden::Body(*body))).map(Item::Body);
    let parts = desk.chain().map_or(0, |chain| chain.parts.len());
    let parts = (0..parts).filter(|part| desk.hidden(&Hidden::Part(*part))).map(Item::Part);
    Show {
        hidden: bodies.chain(parts).collect(),
        covers: options.covers,
        only_chain: options.see_through,
        names: options.names,
        section: options.section.map(|section| Section {
            axis: section.axis.index(),
            at_mm: section.at_mm as f32,
            flipped: section.keep_above,
        }),
        dark: options.background == Background::Dark,
        ..Show::default()
    }
}

/// Whether the desk wants a parallel projection.
pub fn project(desk: &Desk, eye: &mut Eye) {
    eye.parallel = desk.view_options().projection == Projection::Parallel;
}
