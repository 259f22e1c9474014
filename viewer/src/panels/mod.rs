//! The panels around the scene: what is known of gaps and chains, what is played, what is placed.
//!
//! Plain egui: each panel is a function of a [`Ui`] and the [`Desk`], and so is tested without Bevy.

mod bar;
mod chains;
mod dials;
mod gaps;
pub mod keys;
mod near;
mod place;
mod play;
mod question;
mod sides;
mod style;
mod trouble;
mod typed;

#[cfg(test)]
mod tests;

use crate::desk::Desk;
use egui::{Margin, Panel, Rect, Ui};
use sides::{Side, Sides, widths};
use style::Colours;

/// What the panels remember from one picture to the next, and nobody else wants to know.
#[derive(Clone, Debug, Default)]
pub struct Panels {
    /// Whether the list of keys is open.
    pub keys_open: bool,
    /// Whether the figures of searches and of slack are shown, and what was asked.
    pub figures_open: bool,
    sides: Sides,
    /// Keys that others act on, for the list, with what each does.
    more_keys: &'static [(&'static str, &'static str)],
    saving: Option<bar::Saving>,
    place: place::Fields,
}

impl Panels {
    /// Panels whose list of keys has these as well: keys that others act on, each with what it does.
    #[must_use]
    pub fn with_keys(keys: &'static [(&'static str, &'static str)]) -> Self {
        Self { more_keys: keys, ..Self::default() }
    }
}

/// Shows all panels; what they leave free is the scene's, and only input there may reach the camera.
pub fn show(ui: &mut Ui, desk: &mut Desk, panels: &mut Panels) -> Rect {
    style::apply(ui.ctx(), desk.view_options());
    keys::act(ui.ctx(), desk, panels);
    let (scale, width) = (desk.view_options().text_scale, ui.available_width());
    let colours = Colours::of(desk.view_options().background);
    let frame = egui::Frame::new().fill(colours.ground).inner_margin(Margin::symmetric(8, 6));
    Panel::top("bar")
        .frame(frame.inner_margin(Margin::symmetric(8, 4)))
        .show(ui, |ui| bar::show(ui, desk, panels, width));
    Panel::bottom("play").frame(frame).show(ui, |ui| play::show(ui, desk));
    if panels.sides.is_open(Side::Gaps, width, scale) {
        let [least, usual, most] = widths(Side::Gaps, width, scale);
        Panel::left("gaps").frame(frame).default_size(usual).size_range(least..=most).show(ui, |ui| {
            Panel::bottom("place").frame(egui::Frame::new()).show(ui, |ui| place::show(ui, desk, &mut panels.place));
            gaps::show(ui, desk);
        });
    }
    if panels.sides.is_open(Side::Chains, width, scale) {
        let [least, usual, most] = widths(Side::Chains, width, scale);
        Panel::right("chains").frame(frame).default_size(usual).size_range(least..=most).show(ui, |ui| {
            chains::show(ui, desk, &mut panels.figures_open);
        });
    }
    let free = ui.available_rect_before_wrap();
    let below = question::of_disk(ui, desk, free);
    trouble::show(ui, desk, below);
    question::closing(ui, desk, panels);
    bar::ask_for_name(ui, desk, panels);
    keys::list(ui, panels, free);
    free
}

/// A quiet heading over a group.
fn heading(ui: &mut Ui, text: &str) {
    ui.label(egui::RichText::new(text).text_style(style::heading()).strong());
}

/// Small, faint text.
fn aside(ui: &mut Ui, text: impl Into<String>) -> egui::Response {
    ui.label(egui::RichText::new(text).text_style(style::small()).weak())
}
