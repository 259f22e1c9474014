//! What is wrong with the file, over the scene, and short notices.

use super::{heading, style::Colours};
use crate::desk::Desk;
use egui::{Align2, Margin, Rect, RichText, Stroke, Ui};

/// Over the scene: what is wrong, or what there is to tell.
pub(super) fn show(ui: &mut Ui, desk: &mut Desk, free: Rect) {
    let colours = Colours::of(desk.view_options().background);
    let frame = |stroke| {
        egui::Frame::new()
            .fill(colours.ground)
            .inner_margin(Margin::same(10))
            .stroke(Stroke::new(1.5, stroke))
            .corner_radius(3)
    };
    let width = (free.width() - 40.0).clamp(160.0, 760.0);
    if let Some(problems) = desk.problems() {
        let (count, text) = (problems.len(), problems.render(false));
        let places: Vec<String> = problems.iter().map(ToString::to_string).collect();
        let name = desk.name().to_owned();
        egui::Area::new("problems".into()).pivot(Align2::CENTER_TOP).fixed_pos(top(free)).show(ui.ctx(), |ui| {
            frame(colours.bad).show(ui, |ui| {
                ui.set_width(width);
                let problems = if count == 1 { "1 problem".to_owned() } else { format!("{count} problems") };
                heading(ui, &format!("{problems} in {name}"));
                ui.label("The last layout without problems is shown; this goes away when the file is put right.");
                for place in places.iter().take(8) {
                    ui.colored_label(colours.bad, place);
                }
                ui.add_space(4.0);
                let height = (free.height() * 0.5).max(80.0);
                egui::ScrollArea::both()
                    .max_height(height)
                    .min_scrolled_height(height)
                    .auto_shrink([false, true])
                    .show(ui, |ui| {
                        ui.add(egui::Label::new(RichText::new(text).monospace()).extend());
                    });
            });
        });
        return;
    }
    let Some(notice) = desk.notice().cloned() else { return };
    let stroke = if notice.is_trouble { colours.bad } else { colours.line };
    let mut gone = false;
    egui::Area::new("notice".into()).pivot(Align2::CENTER_TOP).fixed_pos(top(free)).show(ui.ctx(), |ui| {
        frame(stroke).show(ui, |ui| {
            ui.set_max_width(width);
            ui.horizontal_top(|ui| {
                ui.add(egui::Label::new(&notice.text).wrap());
                gone = ui.small_button("Close").clicked();
            });
        });
    });
    if gone {
        desk.dismiss();
    }
}

fn top(free: Rect) -> egui::Pos2 {
    free.center_top() + egui::vec2(0.0, 12.0)
}
