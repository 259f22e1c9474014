//! Questions that come before something that is not saved could be lost.

use super::{Panels, bar, heading, style::Colours};
use crate::desk::{Desk, Question};
use egui::{Align2, Margin, Rect, Stroke, Ui};

/// What is said of a file that changed on disk while something was not saved.
pub(super) const CHANGED_ON_DISK: &str = "The file changed on disk, and what was changed here is not saved.";

/// Asks what becomes of what is not saved before the program closes.
pub(super) fn closing(ui: &mut Ui, desk: &mut Desk, panels: &mut Panels) {
    if desk.question() != Some(Question::Closing) || panels.saving.is_some() {
        return;
    }
    let name = desk.layout().name().to_owned();
    let (mut save, mut discard, mut stay) = (false, false, false);
    let window = egui::Modal::new(egui::Id::new("closing")).show(ui.ctx(), |ui| {
        ui.set_width(360.0);
        heading(ui, &format!("{name} is not saved"));
        ui.label("What was changed here would be lost.");
        ui.add_space(4.0);
        ui.horizontal_wrapped(|ui| {
            save = ui.button("Save, then close").clicked();
            discard = ui.button("Discard and close").clicked();
            stay = ui.button("Stay").clicked();
        });
    });
    if save {
        bar::ask(desk, panels, true);
    } else if discard {
        desk.discard_and_close();
    } else if stay || window.should_close() {
        desk.stay();
    }
}

/// Asks over the scene which of the two to go on with, where the file changed on disk while something was not saved; gives
/// the room under it.
pub(super) fn of_disk(ui: &mut Ui, desk: &mut Desk, free: Rect) -> Rect {
    if !desk.differs_on_disk() {
        return free;
    }
    let colours = Colours::of(desk.view_options().background);
    let frame = egui::Frame::new()
        .fill(colours.ground)
        .inner_margin(Margin::same(10))
        .stroke(Stroke::new(1.5, colours.middling))
        .corner_radius(3);
    let (mut keep, mut read) = (false, false);
    let area = egui::Area::new("on disk".into()).pivot(Align2::CENTER_TOP);
    let shown = area.fixed_pos(free.center_top() + egui::vec2(0.0, 12.0)).show(ui.ctx(), |ui| {
        frame.show(ui, |ui| {
            ui.set_max_width((free.width() - 40.0).clamp(160.0, 520.0));
            ui.label(CHANGED_ON_DISK);
            ui.horizontal_wrapped(|ui| {
                keep = ui.button("Keep what is here").on_hover_text("The file stays as it is on disk").clicked();
                read = ui.button("Read the file").on_hover_text("Undo brings back what was changed here").clicked();
            });
        });
    });
    if keep {
        desk.keep_own();
    } else if read {
        desk.read_disk();
    }
    free.with_min_y(shown.response.rect.max.y.min(free.max.y))
}
