//! The bar under the scene: play, pause, step, scrub, speed.

use super::aside;
use crate::desk::{
    Desk, labels,
    playback::{SPEEDS, Show},
};
use egui::{Align, Layout, Ui};

/// Lines of a caption.
const CAPTION_LINES: f32 = 2.0;

/// The play bar.
pub(super) fn show(ui: &mut Ui, desk: &mut Desk) {
    ui.horizontal(|ui| {
        let show = desk.playback().show();
        for (what, text, help) in [
            (Show::MakingUp, "Make up", "How the chosen chain is made up, step by step"),
            (Show::Candidates, "Candidates", "The chains of this gap, one after the other"),
        ] {
            if ui.selectable_label(show == what, text).on_hover_text(help).clicked() {
                desk.show(what);
            }
        }
        ui.separator();
        let there_is_something = desk.playback().total() > 0.0;
        ui.add_enabled_ui(there_is_something, |ui| controls(ui, desk));
    });
    // Room for the longest captions, so that the bar keeps its height while they change.
    let lines = ui.text_style_height(&super::style::small()) * CAPTION_LINES;
    ui.allocate_ui(egui::vec2(ui.available_width(), lines), |ui| {
        ui.set_min_height(lines);
        aside(ui, caption(desk));
    });
}

fn controls(ui: &mut Ui, desk: &mut Desk) {
    if ui.button("Back").on_hover_text("To the step before (Left)").clicked() {
        desk.step(false);
    }
    let playing = desk.playback().is_playing();
    if ui.button(if playing { "Pause" } else { "Play" }).on_hover_text("Space").clicked() {
        desk.play(crate::desk::playback::Playback::toggle);
    }
    if ui.button("Next").on_hover_text("To the next step (Right)").clicked() {
        desk.step(true);
    }
    ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
        let speed = desk.playback().speed();
        egui::ComboBox::from_id_salt("speed").selected_text(format!("× {speed}")).show_ui(ui, |ui| {
            for choice in SPEEDS {
                if ui.selectable_label(choice == speed, format!("× {choice}")).clicked() {
                    desk.play(|playback| playback.set_speed(choice));
                }
            }
        });
        let (mut seconds, total) = (desk.playback().seconds(), desk.playback().total());
        ui.label(labels::seconds(seconds, total));
        ui.spacing_mut().slider_width = (ui.available_width() - 8.0).max(40.0);
        let slider = ui.add(egui::Slider::new(&mut seconds, 0.0..=total.max(1e-3)).show_value(false));
        slider.widget_info(|| egui::WidgetInfo::slider(true, seconds, "moment"));
        if slider.changed() {
            desk.play(|playback| playback.scrub(seconds));
        }
    });
}

/// What is being seen.
fn caption(desk: &Desk) -> String {
    if desk.chain().is_none() {
        return "Nothing to play: this gap has no chain".to_owned();
    }
    match desk.playback().show() {
        Show::Candidates => labels::candidate(desk).unwrap_or_default(),
        Show::MakingUp => {
            let caption = desk.stage().caption;
            if caption.is_empty() { labels::making_up(desk).unwrap_or_default() } else { caption }
        }
    }
}
