//! The ranked chains of the gap that is looked at, and the parts of the one that is shown.

use super::{aside, dials, heading, near, style::Colours};
use crate::desk::{
    Desk,
    labels::{self, ChainLine},
    playback::Show,
};
use egui::{Align, Layout, RichText, Ui};
use egui_extras::{Column, TableBuilder};

/// Columns of [`labels::CHAIN_HEADS`] that the table shows, each with its width where it is not the rest of the room, and
/// with the width of the panel from which there is room for it; the others are under it, for the chain that is shown.
const SHOWN: [(usize, Option<f32>, f32); 6] = [
    (0, Some(30.0), 0.0),
    (1, Some(34.0), 366.0),
    (2, Some(52.0), 0.0),
    (3, Some(52.0), 0.0),
    (4, None, 0.0),
    (7, Some(54.0), 420.0),
];

/// Columns in which the variants of a chain may differ from it.
const VARYING: [usize; 2] = [3, 4];

/// Everything about the gap that is looked at.
pub(super) fn show(ui: &mut Ui, desk: &mut Desk, figures_open: &mut bool) {
    let Some(gap) = desk.gap() else {
        heading(ui, "No gap chosen");
        ui.label("Choose one on the left to see which fittings join its ports.");
        return;
    };
    let lines = labels::gap_lines(desk);
    if let Some(line) = lines.get(gap) {
        heading(ui, &format!("{} to {}", line.from, line.to));
    }
    if let Some(text) = labels::how_it_stands(desk) {
        aside(ui, text);
    }
    for fault in labels::port_faults(desk) {
        ui.label(fault);
    }
    ui.add_space(4.0);
    let rows = labels::chain_lines(desk);
    egui::ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| {
        if desk.solved(gap).is_none() {
            not_solved(ui, desk);
            return;
        }
        if let Some(text) = labels::statement(desk) {
            ui.label(text);
        }
        if let Some(text) = labels::left_out(desk) {
            ui.label(text);
        }
        ui.add_space(4.0);
        if rows.is_empty() {
            near::show(ui, desk);
        } else {
            table(ui, desk, &rows);
            for easier in labels::easier(desk) {
                ui.label(easier);
            }
            ui.add_space(6.0);
            shown_chain(ui, desk, &rows);
            ui.add_space(6.0);
            parts(ui, desk);
        }
        ui.add_space(6.0);
        for obstacle in labels::obstacles(desk) {
            ui.label(obstacle);
        }
        figures(ui, desk, figures_open);
    });
}

/// What was asked, and the figures of the search and of slack: folded away until somebody wants them.
fn figures(ui: &mut Ui, desk: &Desk, open: &mut bool) {
    let word = if *open { "Fold the figures away" } else { "Figures of the search and of slack" };
    if ui.small_button(word).clicked() {
        *open = !*open;
    }
    if !*open {
        return;
    }
    let slack = labels::slack(desk).zip(labels::adding_up(desk));
    let slack = slack.map(|(asked, figures)| [asked, labels::ADDING_UP.to_owned(), figures.join(" · ")]);
    let all = [Some(labels::settings(desk)), labels::branch(desk), labels::searched(desk), labels::slack_within(desk)];
    for text in all.into_iter().flatten().chain(slack.into_iter().flatten()) {
        aside(ui, text);
    }
}

fn not_solved(ui: &mut Ui, desk: &Desk) {
    if desk.progress().is_some() {
        ui.label("This gap is still being searched.");
    } else {
        ui.label("This gap is not solved. Press Solve on the left.");
    }
}

fn table(ui: &mut Ui, desk: &mut Desk, rows: &[ChainLine]) {
    let shown = desk.shown_chain();
    let line = ui.text_style_height(&egui::TextStyle::Body) + 4.0;
    let right = |ui: &mut Ui, text: &str, strong: bool| {
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            let text = RichText::new(text);
            ui.label(if strong { text.strong() } else { text });
        });
    };
    let scale = desk.view_options().text_scale;
    let bad = Colours::of(desk.view_options().background).bad;
    let width = ui.available_width();
    let columns: Vec<_> = SHOWN.into_iter().filter(|(.., from)| width >= from * scale).collect();
    let mut chosen = None;
    ui.push_id("chains", |ui| {
        let mut table = TableBuilder::new(ui)
            .sense(egui::Sense::click())
            .auto_shrink([false, true])
            .vscroll(false)
            .cell_layout(Layout::left_to_right(Align::Center));
        for (_, width, _) in &columns {
            table = table.column(match width {
                Some(width) => Column::exact(width * scale),
                None => Column::remainder().at_least(40.0).clip(true),
            });
        }
        table
            .column(Column::exact(50.0 * scale))
            .column(Column::exact(66.0 * scale))
            .header(line, |mut header| {
                for (column, ..) in columns.iter().copied() {
                    let (head, number) = labels::CHAIN_HEADS[column];
                    header.col(|ui| cell(ui, RichText::new(head).small().weak(), number));
                }
                header.col(|ui| cell(ui, RichText::new(labels::SLACK_HEADS[1].0).small().weak(), true));
                header.col(|ui| cell(ui, RichText::new("made up").small().weak(), false));
            })
            .body(|body| {
                body.rows(line, rows.len(), |mut row| {
                    let index = row.index();
                    let Some(ChainLine { cells, made_up, slack, variant }) = rows.get(index) else { return };
                    let is_shown = shown == Some(index);
                    row.set_selected(is_shown);
                    row.col(|ui| {
                        // The number is a button of its own, for the keyboard and for programs that read the screen.
                        let clash = labels::clash(desk, index);
                        let mut text = RichText::new(&cells[0]);
                        let mut name = format!("chain {}", cells[0]);
                        if clash.is_some() {
                            text = RichText::new(format!("{} ×", cells[0])).color(bad);
                            name += ", stands in the way of another gap";
                        }
                        let mut response = ui.add(egui::Button::selectable(is_shown, text));
                        if let Some(clash) = clash {
                            response = response.on_hover_text(clash);
                        }
                        response.widget_info(|| {
                            egui::WidgetInfo::selected(egui::WidgetType::SelectableLabel, true, is_shown, &name)
                        });
                        if response.clicked() {
                            chosen = Some(index);
                        }
                    });
                    for (column, ..) in columns.iter().copied().skip(1) {
                        row.col(|ui| {
                            // Of a variant only what may differ stands out.
                            if variant.is_some() && !VARYING.contains(&column) {
                                return;
                            }
                            if labels::CHAIN_HEADS[column].1 {
                                right(ui, &cells[column], is_shown);
                            } else {
                                ui.add(egui::Label::new(&cells[column]).truncate());
                            }
                        });
                    }
                    row.col(|ui| right(ui, slack.as_ref().map_or("-", |cells| &cells[1]), is_shown));
                    row.col(|ui| {
                        ui.label(made_up.unwrap_or("-"));
                    });
                    if row.response().clicked() {
                        chosen = Some(index);
                    }
                });
            });
    });
    if let Some(chain) = chosen {
        desk.choose_chain(chain);
    }
}

/// The figures of the chain that is shown which have no column.
fn shown_chain(ui: &mut Ui, desk: &Desk, rows: &[ChainLine]) {
    let Some(ChainLine { cells, variant, .. }) = desk.shown_chain().and_then(|chain| rows.get(chain)) else { return };
    let playing = desk.playback().show() == Show::Candidates && desk.shown_chain() != desk.chosen_chain();
    let title = if playing { "(candidate) " } else { "" };
    heading(ui, &format!("Chain {} {title}", cells[0]));
    let [.., off_mm, off_deg, _, price] = cells;
    let price = if price == "-" { String::new() } else { format!(", price {price}") };
    if let Some(variant) = variant {
        ui.label(variant);
    }
    if let Some(clash) = desk.shown_chain().and_then(|chain| labels::clash(desk, chain)) {
        ui.colored_label(Colours::of(desk.view_options().background).bad, clash);
    }
    aside(ui, format!("off by {off_mm} mm and {off_deg}°{price}"));
    if let Some(text) = labels::nearest(desk) {
        ui.label(text);
    }
    for aim in labels::aims(desk) {
        ui.label(aim);
    }
    dials::show(ui, desk);
    if let Some(text) = labels::making_up(desk) {
        ui.label(text);
    }
    if let Some(text) = labels::slack_along_axes(desk) {
        ui.label(text);
    }
}

/// The parts in order with the turn of each swivel, and where each leads.
fn parts(ui: &mut Ui, desk: &Desk) {
    let rows = labels::part_rows(desk);
    let drawn = desk.parts().iter().any(labels::is_drawn_out);
    let scale = desk.view_options().text_scale;
    let head = ui.text_style_height(&egui::TextStyle::Small) + 4.0;
    let line = ui.text_style_height(&egui::TextStyle::Body) + head;
    let [part, id, turn, out, heads, ..] = labels::PART_HEADS.map(|(head, _)| head);
    ui.push_id("parts", |ui| {
        let mut table = TableBuilder::new(ui)
            .auto_shrink([false, true])
            .vscroll(false)
            .cell_layout(Layout::left_to_right(Align::Min))
            .column(Column::exact(26.0 * scale))
            .column(Column::remainder().at_least(110.0).clip(true))
            .column(Column::exact(48.0 * scale));
        if drawn {
            table = table.column(Column::exact(84.0 * scale));
        }
        table
            .column(Column::exact(98.0 * scale))
            .header(head, |mut header| {
                let heads = [(part, true), (id, false), (turn, true), (out, true), (heads, false)];
                for (text, number) in heads.into_iter().filter(|(text, _)| drawn || *text != labels::DRAWN_OUT) {
                    header.col(|ui| cell(ui, RichText::new(text).small().weak(), number));
                }
            })
            .body(|body| {
                body.rows(line, rows.len(), |mut row| {
                    let Some([number, id, turn, out, heads, x, y, z]) = rows.get(row.index()) else { return };
                    let name = desk.parts().get(row.index()).map(|part| part.name.as_str());
                    row.col(|ui| cell(ui, number.into(), true));
                    let (_, response) = row.col(|ui| {
                        ui.vertical(|ui| {
                            ui.spacing_mut().item_spacing.y = 0.0;
                            ui.add(egui::Label::new(id).truncate());
                            aside(ui, format!("seat at x {x}, y {y}, z {z} mm"));
                        });
                    });
                    if let Some(name) = name {
                        response.on_hover_text(name);
                    }
                    row.col(|ui| cell(ui, turn.into(), true));
                    if drawn {
                        row.col(|ui| cell(ui, out.into(), true));
                    }
                    row.col(|ui| cell(ui, heads.into(), false));
                });
            });
    });
}

fn cell(ui: &mut Ui, text: RichText, number: bool) {
    if number {
        ui.with_layout(Layout::right_to_left(ui.layout().vertical_align()), |ui| ui.label(text));
    } else {
        ui.add(egui::Label::new(text).truncate());
    }
}
