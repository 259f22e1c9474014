//! The bar above the scene: the file, undo, and how the scene is looked at.

use super::{Panels, style::Colours};
use crate::desk::{
    Desk,
    view::{Axis, Background, Covers, Projection, Section, TEXT_SCALES},
};
use egui::Ui;
use std::path::PathBuf;

/// A name that is being asked for.
#[derive(Clone, Debug)]
pub(super) struct Saving {
    name: String,
    replace: bool,
    refused: Option<String>,
    /// Whether to close once it is saved.
    then_close: bool,
}

/// The bar, in a window of this width; it takes another row where one is too short.
pub(super) fn show(ui: &mut Ui, desk: &mut Desk, panels: &mut Panels, width: f32) {
    let scale = desk.view_options().text_scale;
    ui.horizontal_wrapped(|ui| {
        ui.strong(desk.layout().name()).on_hover_text(desk.name());
        changed(ui, desk);
        ui.separator();
        if ui.button("Save as…").on_hover_text("As a new file; its comments stay (Ctrl+S)").clicked() {
            ask(desk, panels, false);
        }
        let undoes = desk.undoes().map(str::to_owned);
        let redoes = desk.redoes().map(str::to_owned);
        if step(ui, "Undo", undoes.as_deref(), "Ctrl+Z") {
            desk.undo();
        }
        if step(ui, "Redo", redoes.as_deref(), "Ctrl+Shift+Z") {
            desk.redo();
        }
        ui.separator();
        panels.sides.buttons(ui, width, scale);
        ui.separator();
        look(ui, desk);
        ui.separator();
        dress(ui, desk);
        if ui.button("Keys").on_hover_text("F1").clicked() {
            panels.keys_open = !panels.keys_open;
        }
    });
}

/// Says that something is not saved, in a place that is kept for it, so that nothing moves when it appears.
fn changed(ui: &mut Ui, desk: &Desk) {
    const WORD: &str = "not saved";
    let font = super::style::small().resolve(ui.style());
    let colour = Colours::of(desk.view_options().background).middling;
    let word = ui.painter().layout_no_wrap(WORD.to_owned(), font, colour);
    let (rect, response) = ui.allocate_exact_size(word.size(), egui::Sense::hover());
    if desk.is_changed() {
        ui.painter().galley(rect.left_top(), word, colour);
        response.widget_info(|| egui::WidgetInfo::labeled(egui::WidgetType::Label, true, WORD));
    }
}

/// Opens the question under which name to save, and whether to close then.
pub(super) fn ask(desk: &Desk, panels: &mut Panels, then_close: bool) {
    let name = desk.new_name().display().to_string();
    panels.saving = Some(Saving { name, replace: false, refused: None, then_close });
}

/// The question under which name to save, while it is open.
pub(super) fn ask_for_name(ui: &mut Ui, desk: &mut Desk, panels: &mut Panels) {
    let Some(saving) = &mut panels.saving else { return };
    let (mut save, mut leave) = (false, false);
    let window = egui::Modal::new(egui::Id::new("save as")).show(ui.ctx(), |ui| {
        ui.set_width(420.0);
        super::heading(ui, "Save this layout as");
        let name = ui.add(egui::TextEdit::singleline(&mut saving.name).desired_width(f32::INFINITY));
        save |= name.lost_focus() && ui.input(|input| input.key_pressed(egui::Key::Enter));
        if desk.differs_on_disk() {
            super::typed::flag(ui, desk, super::question::CHANGED_ON_DISK);
        }
        ui.checkbox(&mut saving.replace, "Replace the file if it exists");
        if let Some(refused) = &saving.refused {
            ui.colored_label(ui.visuals().error_fg_color, refused);
        }
        ui.horizontal(|ui| {
            save |= ui.button("Save").clicked();
            leave |= ui.button("Leave it").clicked();
        });
    });
    leave |= window.should_close();
    if save {
        match desk.save_as(&PathBuf::from(saving.name.trim()), saving.replace) {
            Ok(()) if saving.then_close => desk.discard_and_close(),
            Ok(()) => leave = true,
            Err(error) => saving.refused = Some(error.to_string()),
        }
    }
    if leave {
        panels.saving = None;
    }
}

fn step(ui: &mut Ui, name: &str, what: Option<&str>, key: &str) -> bool {
    let button = ui.add_enabled(what.is_some(), egui::Button::new(name));
    let hint = what.map_or_else(|| key.to_owned(), |what| format!("{what} ({key})"));
    button.on_hover_text(hint).clicked()
}

/// What is seen of the scene.
fn look(ui: &mut Ui, desk: &mut Desk) {
    let mut view = *desk.view_options();
    ui.label("Covers");
    for covers in Covers::ALL {
        let name = format!("covers {}", covers.word());
        let response = ui.selectable_label(view.covers == covers, covers.word());
        response.widget_info(|| {
            egui::WidgetInfo::selected(egui::WidgetType::SelectableLabel, true, view.covers == covers, &name)
        });
        if response.clicked() {
            view.covers = covers;
        }
    }
    ui.checkbox(&mut view.see_through, "See through");
    ui.checkbox(&mut view.names, "Names");
    let mut parallel = view.projection == Projection::Parallel;
    ui.checkbox(&mut parallel, "Parallel");
    view.projection = if parallel { Projection::Parallel } else { Projection::Perspective };
    cut(ui, desk, &mut view.section);
    desk.look(|options| *options = view);
    if desk.hiding().hides_anything() && ui.button("Show all").clicked() {
        desk.hide(crate::desk::view::Hiding::show_all);
    }
}

/// What the field of the cut is called.
const CUT_AT: &str = "cut at";

/// The section plane.
fn cut(ui: &mut Ui, desk: &Desk, section: &mut Option<Section>) {
    let mut on = section.is_some();
    ui.checkbox(&mut on, "Cut");
    if on && section.is_none() {
        *section = Some(middle(desk, Axis::X));
    } else if !on {
        *section = None;
    }
    let Some(plane) = section else { return };
    for axis in Axis::ALL {
        if ui.selectable_label(plane.axis == axis, axis.name()).clicked() && plane.axis != axis {
            *plane = middle(desk, axis);
        }
    }
    super::typed::length(ui, CUT_AT, &mut plane.at_mm, 74.0, 0.5);
    super::typed::refused(ui, desk, CUT_AT);
    ui.checkbox(&mut plane.keep_above, "keep above");
}

/// A plane through the middle of the machine.
fn middle(desk: &Desk, axis: Axis) -> Section {
    let solids = desk.layout().bodies().iter().flat_map(|body| &body.solids);
    let bounds = solids.map(elbowroom::geometry::Solid::bounds).reduce(|one, other| one.union(&other));
    let at_mm = bounds.map_or(0.0, |bounds| {
        let middle = nalgebra::center(&bounds.min, &bounds.max);
        (middle[axis.index()] * 2.0).round() / 2.0
    });
    Section { axis, at_mm, keep_above: false }
}

/// Ground and size of letters.
fn dress(ui: &mut Ui, desk: &mut Desk) {
    let dark = desk.view_options().background == Background::Dark;
    if ui.button(if dark { "Light" } else { "Dark" }).on_hover_text("Change the ground").clicked() {
        desk.look(|view| view.background = if dark { Background::Light } else { Background::Dark });
    }
    let scale = desk.view_options().text_scale;
    for (text, help, by) in [("A+", "Larger letters (Ctrl +)", 0.125), ("A−", "Smaller letters (Ctrl −)", -0.125)] {
        if ui.button(text).on_hover_text(help).clicked() {
            desk.look(|view| view.text_scale = larger(scale, by));
        }
    }
}

/// A size of letters within what is offered.
pub(super) fn larger(scale: f32, by: f32) -> f32 {
    (scale + by).clamp(*TEXT_SCALES.start(), *TEXT_SCALES.end())
}
