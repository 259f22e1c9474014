//! The desk as a whole, on the demo and on small files; no window, no graphics card.

mod editing;
mod files;
mod looking;
mod solving;
mod timeline;

use super::{Asked, Desk};
use elbowroom::{catalog::Catalog, layout::BodyId};
use std::time::Duration;

/// Longer than any of these searches takes, however slow and busy the machine: it only ends what hangs.
const LONG: Duration = Duration::from_secs(3600);

/// Enough for every gap of the demo that can be bridged, and quick.
const BRIEF: Asked = Asked { max_parts: 4, want: 3, clearance_mm: None, flow_l_min: None };

fn demo() -> Desk {
    let (name, text) = elbowroom_catalog::DEMO;
    Desk::new(name, text, Catalog::builtin(), BRIEF).expect("the demo is sound")
}

/// Two gaps only, so that solving everything takes no time: the first two of the demo.
fn pump_corner() -> Desk {
    let (name, text) = elbowroom_catalog::DEMO;
    let (head, _) = text.split_once("        // Side by side: the filter").expect("the third gap");
    let mut desk = Desk::new(name, &format!("{head}    ],\n)\n"), Catalog::builtin(), BRIEF).expect("sound");
    desk.solve();
    assert!(desk.wait(LONG), "solved in time");
    desk
}

fn body(desk: &Desk, name: &str) -> BodyId {
    desk.layout().bodies_by_id().find(|(_, body)| body.name == name).map(|(id, _)| id).expect("a body of that name")
}
