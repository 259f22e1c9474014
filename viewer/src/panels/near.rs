//! What to say of a gap that nothing bridges: what comes nearest, and what is in the way.

use super::{aside, heading, style::Colours};
use crate::desk::{Desk, GapState, NearChoice, labels};
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
    // Moves are numbered on from one heading to the next.
    let opening = sections.iter().find(|(title, _)| *title == labels::MOVES).map_or(0, |(_, items)| items.len());
    let (mut apply, mut choose) = (None, None);
    for (title, items) in &sections {
        ui.add_space(4.0);
        ui.strong(*title);
        if *title == labels::IN_THE_WAY {
            blockers(ui, desk);
        }
        for (index, item) in items.iter().enumerate() {
            ui.horizontal_top(|ui| {
                let choice = choice(title, index, opening);
                match choice {
                    Some(choice) => {
                        let button = ui.selectable_label(desk.near_choice() == Some(choice), "show");
                        let name = format!("show {}: {item}", title.to_lowercase());
                        button.widget_info(|| {
                            let shown = desk.near_choice() == Some(choice);
                            egui::WidgetInfo::selected(egui::WidgetType::SelectableLabel, true, shown, &name)
                        });
                        if button.on_hover_text("Show it in the scene, dashed").clicked() {
                            choose = Some(choice);
                        }
                    }
                    None => {
                        aside(ui, "–");
                    }
                }
                if let Some(NearChoice::Move(index)) = choice {
                    let button = ui.small_button(format!("Move {}", index + 1));
                    if button.on_hover_text("Make this move; it can be undone").clicked() {
                        apply = Some(index);
                    }
                }
                ui.add(egui::Label::new(item).wrap());
            });
        }
    }
    if let Some(choice) = choose {
        desk.choose_near(choice);
    }
    if let Some(index) = apply {
        let made = desk.apply_suggestion(index);
        desk.tell(made);
    }
}

/// The bodies in the way, in a table; the scene has them hatched in the same way.
fn blockers(ui: &mut Ui, desk: &Desk) {
    let colours = Colours::of(desk.view_options().background);
    egui::Grid::new("in the way").num_columns(5).spacing([10.0, 2.0]).show(ui, |ui| {
        for head in ["", "body", "chains", "it alone", "gives way mm"] {
            aside(ui, head);
        }
        ui.end_row();
        for row in labels::blocker_rows(desk) {
            dots(ui, colours);
            for cell in row {
                ui.label(cell);
            }
            ui.end_row();
        }
    });
}

/// The hatch of what is in the way.
fn dots(ui: &mut Ui, colours: &Colours) {
    let side = ui.text_style_height(&egui::TextStyle::Small);
    let (rect, _) = ui.allocate_exact_size(egui::vec2(side * 1.6, side), egui::Sense::hover());
    ui.painter().rect_stroke(rect, 1.0, egui::Stroke::new(1.0, colours.bad), egui::StrokeKind::Inside);
    for x in [0.25, 0.5, 0.75] {
        for y in [0.33, 0.67] {
            ui.painter().circle_filled(rect.lerp_inside(egui::vec2(x, y)), side * 0.09, colours.bad);
        }
    }
}

/// What the item at a place under a heading shows in the scene; nothing for reasons, and for all but the first line on
/// what is in the way. So many moves open the gap; those whose chain cannot be made up follow.
fn choice(title: &str, index: usize, opening: usize) -> Option<NearChoice> {
    match title {
        labels::MOVES => Some(NearChoice::Move(index)),
        labels::STIFF_MOVES | labels::ONLY_STIFF_MOVES => Some(NearChoice::Move(opening + index)),
        labels::NEAREST => Some(NearChoice::Nearest),
        labels::IN_THE_WAY => (index == 0).then_some(NearChoice::InTheWay),
        labels::LACKING => Some(NearChoice::Lacking(index)),
        _ => None,
    }
}
