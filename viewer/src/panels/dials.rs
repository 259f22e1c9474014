//! The joints of a chain as drawings: each collar that must be aimed, seen from the free end, as `--steps` draws them.

use super::{aside, style::Colours};
use crate::desk::{Desk, labels};
use egui::{Align2, Color32, FontId, Pos2, Sense, Shape, Stroke, Ui, Vec2, vec2};
use elbowroom::report::Dial;

/// Width and height of a drawing, and radii of the collar, of its bore and of the arc on which the turn is drawn, in points
/// at the normal size of letters.
const CELL: Vec2 = vec2(124.0, 132.0);
const COLLAR: f32 = 32.0;
const BORE: f32 = 8.0;
const ARC: f32 = 20.0;

/// A drawing for each part of the chain that is shown that must be aimed; nothing where there is none.
pub(super) fn show(ui: &mut Ui, desk: &Desk) {
    let dials: Vec<(usize, f64, Dial)> = desk
        .parts()
        .iter()
        .enumerate()
        .filter_map(|(index, part)| {
            let turn_deg = part.turn_deg?;
            Some((index, turn_deg, part.aim.as_ref()?.view.dial(turn_deg)))
        })
        .collect();
    if dials.is_empty() {
        return;
    }
    aside(ui, "Each collar to aim, seen from its free end; the dashed line is 0°, turns count counter-clockwise:");
    let scale = desk.view_options().text_scale;
    ui.horizontal_wrapped(|ui| {
        for (index, turn_deg, dial) in dials {
            let turn = labels::turn(turn_deg);
            let (rect, response) = ui.allocate_exact_size(CELL * scale, Sense::hover());
            response.widget_info(|| {
                let name = format!("part {} turned {turn}°, {} at the top", index + 1, dial.top);
                egui::WidgetInfo::labeled(egui::WidgetType::Image, true, name)
            });
            draw(ui, desk, rect, &format!("part {}: {turn}°", index + 1), &dial);
        }
    });
}

fn draw(ui: &Ui, desk: &Desk, rect: egui::Rect, title: &str, dial: &Dial) {
    let colours = Colours::of(desk.view_options().background);
    let scale = desk.view_options().text_scale;
    let font = FontId::proportional(11.0 * scale);
    let painter = ui.painter_at(rect);
    let middle = rect.center() + vec2(0.0, 14.0 * scale);
    let write = |at: Pos2, align, text: &str, colour: Color32| {
        painter.text(at, align, text, font.clone(), colour);
    };
    write(rect.center_top(), Align2::CENTER_TOP, title, colours.ink);
    // The top of the picture.
    let top = middle - vec2(0.0, (COLLAR + 13.0) * scale);
    let tip = |x: f32, y: f32| top + vec2(x, y) * scale;
    painter.add(Shape::convex_polygon(
        vec![tip(-4.0, 4.0), tip(0.0, -4.0), tip(4.0, 4.0)],
        colours.faint,
        Stroke::NONE,
    ));
    write(tip(8.0, 0.0), Align2::LEFT_CENTER, &dial.top, colours.faint);
    let ink = Stroke::new(1.2 * scale, colours.ink);
    painter.circle_stroke(middle, COLLAR * scale, ink);
    painter.circle_stroke(middle, BORE * scale, ink);
    // Counter-clockwise from the top.
    let spot = |deg: f64, radius: f32| {
        let (sin, cos) = (deg.to_radians() as f32).sin_cos();
        middle - vec2(sin, cos) * (radius * scale)
    };
    let zero = [spot(dial.zero_deg, BORE), spot(dial.zero_deg, COLLAR + 6.0)];
    painter.extend(Shape::dashed_line(&zero, Stroke::new(1.2 * scale, colours.faint), 3.0 * scale, 3.0 * scale));
    write(spot(dial.zero_deg, COLLAR + 14.0), Align2::CENTER_CENTER, "0°", colours.faint);
    let aimed = [spot(dial.aimed_deg, BORE), spot(dial.aimed_deg, COLLAR + 5.0)];
    painter.line_segment(aimed, Stroke::new(3.5 * scale, colours.chosen));
    let turn_deg = dial.aimed_deg - dial.zero_deg;
    let steps = (turn_deg / 6.0).ceil().max(1.0);
    let arc = (0..=steps as usize).map(|step| spot(dial.zero_deg + turn_deg * step as f64 / steps, ARC));
    painter.add(Shape::line(arc.collect(), Stroke::new(1.2 * scale, colours.chosen)));
}
