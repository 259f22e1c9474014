//! The gaps of the circuit and how each stands.

use super::{aside, heading, style::Colours};
use crate::desk::{
    Desk, GapState,
    labels::{self, GapLine},
};
use egui::{Color32, FontSelection, RichText, Stroke, TextFormat, Ui, text::LayoutJob};

/// The list of gaps; a click chooses one.
pub(super) fn show(ui: &mut Ui, desk: &mut Desk) {
    let lines = labels::gap_lines(desk);
    heading(ui, &if lines.len() == 1 { "1 gap".to_owned() } else { format!("{} gaps", lines.len()) });
    progress(ui, desk);
    if lines.is_empty() {
        ui.label("This layout lists no gaps. Add `gaps` to the file: two ports each, in the order the coolant flows.");
        return;
    }
    egui::ScrollArea::vertical().auto_shrink([false, true]).show(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 1.0;
        for (index, line) in lines.iter().enumerate() {
            if entry(ui, line, index, desk).clicked() {
                desk.choose_gap(index);
            }
        }
    });
}

fn progress(ui: &mut Ui, desk: &mut Desk) {
    ui.horizontal(|ui| {
        ui.set_min_height(ui.spacing().interact_size.y);
        match desk.progress() {
            Some(progress) => {
                if ui.small_button("Stop").on_hover_text("Stop searching; what is found stays").clicked() {
                    desk.cancel();
                }
                ui.add(egui::Label::new(RichText::new(labels::progress(&progress)).small().weak()).truncate());
            }
            None if (0..desk.layout().gaps().len()).any(|gap| !desk.is_fresh(gap)) => {
                if ui.small_button("Solve").on_hover_text("Search the gaps that are not solved").clicked() {
                    desk.solve();
                }
                aside(ui, "Not all gaps are solved for this layout");
            }
            None => {
                ui.add(egui::Label::new(RichText::new(labels::tally(desk).unwrap_or_default()).small()).wrap());
            }
        }
    });
    if let Some(text) = labels::side_by_side(desk) {
        ui.add(egui::Label::new(RichText::new(text).small().weak()).wrap());
    }
}

/// One gap: its sign and ports, and under them how it stands.
fn entry(ui: &mut Ui, line: &GapLine, index: usize, desk: &Desk) -> egui::Response {
    let colours = Colours::of(desk.view_options().background);
    let chosen = desk.gap() == Some(index);
    let scale = desk.view_options().text_scale;
    let indent = 20.0 * scale;
    let mut job = LayoutJob::default();
    job.wrap.max_width = (ui.available_width() - indent - 6.0).max(60.0);
    let mut add = |text: &str, style: egui::TextStyle, color: Color32| {
        let font_id = FontSelection::Style(style).resolve(ui.style());
        job.append(text, 0.0, TextFormat { font_id, color, ..TextFormat::default() });
    };
    add(&format!("{}  ", line.number), egui::TextStyle::Body, colours.faint);
    add(&format!("{} to {}\n", line.from, line.to), egui::TextStyle::Body, colours.ink);
    add(labels::state(line.state), egui::TextStyle::Small, colours.state(line.state));
    // Whatever makes a state less than it seems stands beside it.
    for but in [labels::few_builds(desk, index), labels::opened_by(desk, index)].into_iter().flatten() {
        add(&format!(" · {but}"), egui::TextStyle::Small, colours.middling);
    }
    if let Some([_, _, _, apart, best, loss, clear]) = &line.cells {
        let mut figures = format!(" · {best}");
        if matches!(line.state, GapState::Bridged | GapState::CannotBeMadeUp) {
            figures += &format!(" · {loss} kPa · {clear} mm clear");
        } else {
            figures += &format!(" · its ports {apart} mm apart");
        }
        add(&figures, egui::TextStyle::Small, colours.faint);
    }
    if !line.fresh && line.state != GapState::Unknown {
        add(" · being solved again", egui::TextStyle::Small, colours.middling);
    }
    let text = job.text.clone();
    let galley = ui.fonts_mut(|fonts| fonts.layout_job(job));
    let size = egui::vec2(ui.available_width(), galley.size().y + 5.0 * scale);
    let (rect, response) = ui.allocate_exact_size(size, egui::Sense::click());
    response.widget_info(|| egui::WidgetInfo::selected(egui::WidgetType::SelectableLabel, true, chosen, &text));
    let ground = if chosen {
        ui.visuals().selection.bg_fill
    } else if response.hovered() || response.has_focus() {
        ui.visuals().widgets.hovered.weak_bg_fill
    } else {
        Color32::TRANSPARENT
    };
    ui.painter().rect_filled(rect, 2.0, ground);
    let first_line = rect.left_top() + egui::vec2(indent / 2.0, 10.5 * scale);
    sign(ui.painter(), first_line, line.state, colours.state(line.state), scale);
    ui.painter().galley(rect.left_top() + egui::vec2(indent, 2.0 * scale), galley, colours.ink);
    response
}

/// A sign that tells the states apart without colour.
fn sign(painter: &egui::Painter, at: egui::Pos2, state: GapState, colour: Color32, scale: f32) {
    let radius = 3.5 * scale;
    let stroke = Stroke::new(1.5, colour);
    match state {
        GapState::Unknown => {
            painter.circle_stroke(at, 2.0, stroke);
        }
        GapState::Bridged => {
            painter.circle_filled(at, radius, colour);
        }
        GapState::Nearly => {
            painter.circle_stroke(at, radius, stroke);
            let half = painter.with_clip_rect(egui::Rect::everything_above(at.y));
            half.circle_filled(at, radius, colour);
        }
        GapState::CannotBeMadeUp => {
            painter.circle_stroke(at, radius, stroke);
            painter.circle_filled(at, radius / 2.0, colour);
        }
        GapState::NotProven => {
            painter.circle_stroke(at, radius, stroke);
        }
        GapState::Blocked => {
            let arm = egui::vec2(radius, radius);
            let other = egui::vec2(radius, -radius);
            painter.line_segment([at - arm, at + arm], stroke);
            painter.line_segment([at - other, at + other], stroke);
        }
    }
}
