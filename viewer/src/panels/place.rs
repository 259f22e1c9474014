//! Placing the selected component by numbers.

use super::{aside, heading, typed};
use crate::desk::{
    Desk, labels,
    placing::{self, GRID_MM},
    view::{Axis, Item},
};
use egui::Ui;
use elbowroom::layout::{BodyId, BodyKind};

/// What the number fields remember.
#[derive(Clone, Debug, Default)]
pub(super) struct Fields {
    /// Whether one of the fields has taken hold of the component.
    held: bool,
    /// Whose place the fields showed last.
    of: Option<BodyId>,
}

/// Room for a coordinate, in points.
const FIELD_WIDTH: f32 = 92.0;

/// What the field of a coordinate is called.
fn name_of(axis: Axis) -> String {
    format!("{} of component", axis.name())
}

/// How far a component goes for each point that a number is dragged, in millimetres.
const MM_PER_POINT: f64 = 0.05;

/// The selected component: where it stands, and fields to put it elsewhere.
pub(super) fn show(ui: &mut Ui, desk: &mut Desk, fields: &mut Fields) {
    ui.add_space(6.0);
    choose(ui, desk);
    let Some(body) = desk.selected() else {
        aside(ui, "Click a component in the scene, or choose one here, to move it.");
        return;
    };
    let Some(at) = placing::place(desk.layout(), body) else { return };
    if fields.of.replace(body) != Some(body) {
        Axis::ALL.into_iter().for_each(|axis| typed::forget(ui, &name_of(axis)));
    }
    for axis in Axis::ALL {
        coordinate(ui, desk, fields, body, at, axis);
        typed::refused(ui, desk, &name_of(axis));
    }
    for beyond in labels::beyond_play(desk, body) {
        typed::flag(ui, desk, &beyond);
    }
    ui.horizontal(|ui| {
        ui.label("turn");
        for (text, degrees) in [("90° left", 90.0), ("90° right", -90.0)] {
            let help = "About its own top axis, seen from above its top";
            if ui.button(text).on_hover_text(help).clicked() {
                let made = desk.turn(body, degrees);
                desk.tell(made);
            }
        }
    });
    let index = body.index();
    ui.horizontal(|ui| {
        if ui.button("Hide").on_hover_text("H").clicked() {
            desk.hide(|hiding| hiding.toggle(Item::Body(index)));
        }
        if ui.button("Alone").on_hover_text("This component and the chain only").clicked() {
            desk.hide(|hiding| hiding.isolate(Item::Body(index)));
        }
    });
    if let Some(text) = labels::play(desk, body) {
        aside(ui, text);
    }
}

fn choose(ui: &mut Ui, desk: &mut Desk) {
    let name = |body: BodyId| desk.layout().body(body).map_or("", |body| body.name.as_str()).to_owned();
    let selected = desk.selected();
    let title = selected.map_or_else(|| "none".to_owned(), name);
    let components: Vec<(BodyId, String)> = desk
        .layout()
        .bodies_by_id()
        .filter(|(_, body)| body.kind == BodyKind::Component)
        .map(|(id, body)| (id, body.name.clone()))
        .collect();
    ui.horizontal(|ui| {
        heading(ui, "Component");
        egui::ComboBox::from_id_salt("component").selected_text(title).show_ui(ui, |ui| {
            for (id, name) in components {
                if ui.selectable_label(selected == Some(id), name).clicked() {
                    desk.select(Some(id));
                }
            }
        });
    });
}

/// One coordinate: dragged or stepped on the grid, or typed as it is.
fn coordinate(ui: &mut Ui, desk: &mut Desk, fields: &mut Fields, body: BodyId, at: [f64; 3], axis: Axis) {
    let index = axis.index();
    let mut value = at[index];
    let mut step = 0.0;
    ui.horizontal(|ui| {
        ui.label(axis.name());
        let field = typed::length(ui, &name_of(axis), &mut value, FIELD_WIDTH, MM_PER_POINT);
        for (text, by) in [("−", -GRID_MM), ("+", GRID_MM)] {
            let button = ui.small_button(text).on_hover_text(format!("{} by {} mm", axis.name(), by));
            button.widget_info(|| {
                let name = format!("{} {} {}", axis.name(), if by > 0.0 { "plus" } else { "minus" }, GRID_MM);
                egui::WidgetInfo::labeled(egui::WidgetType::Button, true, name)
            });
            if button.clicked() {
                step = by;
            }
        }
        if field.drag_started() && desk.begin_drag(body) {
            fields.held = true;
        }
        match fields.held {
            true if field.dragged() => {
                let mut shift = desk.dragged_by().unwrap_or_default();
                // The grid swallows small steps, so what the pointer went is added up beside it.
                let by = f64::from(field.drag_delta().x) * MM_PER_POINT;
                let key = field.id.with("moved");
                let moved = ui.data(|data| data.get_temp(key)).unwrap_or(0.0) + by;
                ui.data_mut(|data| data.insert_temp(key, moved));
                shift[index] = moved;
                desk.drag_to(shift);
            }
            true if field.drag_stopped() => {
                fields.held = false;
                ui.data_mut(|data| data.remove::<f64>(field.id.with("moved")));
                let made = desk.end_drag();
                desk.tell(made);
            }
            false if field.changed() => step = value - at[index],
            _ => {}
        }
    });
    if step != 0.0 {
        let mut to = at;
        to[index] += step;
        let made = desk.place(body, to);
        desk.tell(made);
    }
}
