//! What to say of a gap that nothing bridges: what comes nearest, and what is in the way.

use super::{aside, heading};
use crate::desk::{Desk, GapState, labels};
use egui::Ui;

/// Shown in place of the chains.
pub(super) fn show(ui: &mut Ui, desk: &mut Desk) {
    let Some(gap) = desk.gap() else { return };
    heading(
        ui,
        match desk.state(gap) {
            GapState::Nearly => "Nothing bridges this gap, but a small move opens it",
            GapState::NotProven => "Nothing found, which is no proof",
            _ => "Nothing bridges this gap",
        },
    );
    let sections = labels::near_misses(desk);
    let looking =
        desk.progress().is_some() && desk.solved(gap).is_some_and(|solved| solved.report.near_misses.is_none());
    if sections.is_empty() && looking {
        aside(ui, "Near misses are looked for once every gap is searched.");
    }
    let mut apply = None;
    for (title, items) in &sections {
        ui.add_space(4.0);
        ui.strong(*title);
        for (index, item) in items.iter().enumerate() {
            ui.horizontal_top(|ui| {
                if *title == labels::MOVES {
                    let button = ui.small_button(format!("Move {}", index + 1));
                    if button.on_hover_text("Make this move; it can be undone").clicked() {
                        apply = Some(index);
                    }
                } else {
                    aside(ui, "–");
                }
                ui.add(egui::Label::new(item).wrap());
            });
        }
    }
    if let Some(index) = apply {
        let made = desk.apply_suggestion(index);
        desk.tell(made);
    }
}
