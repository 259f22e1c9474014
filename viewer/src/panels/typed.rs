//! Numbers that are typed: taken as they are, or refused with what was expected, beside the field.

use super::style::Colours;
use crate::desk::{Desk, labels};
use egui::{DragValue, Id, RichText, Ui};
use std::cell::RefCell;

/// A field for a length in millimetres, which may also be dragged; its name is for programs that read the screen. What is
/// typed and is no number leaves the value as it was, and is remembered for [`refused`].
pub(super) fn length(ui: &mut Ui, name: &str, value: &mut f64, width: f32, speed: f64) -> egui::Response {
    let before = *value;
    let wrong: RefCell<Option<String>> = RefCell::default();
    let read = |text: &str| match read(text) {
        Ok(mm) => Some(mm),
        Err(why) => {
            *wrong.borrow_mut() = Some(format!("{name}: {why}; {} mm is kept", labels::coordinate(before)));
            None
        }
    };
    let field = DragValue::new(value)
        .speed(speed)
        .custom_formatter(|value, _| labels::coordinate(value))
        .custom_parser(read)
        .suffix(" mm")
        .update_while_editing(false);
    let field = ui.add_sized([width, ui.spacing().interact_size.y], field);
    field.widget_info(|| {
        let mut info = egui::WidgetInfo::drag_value(true, before);
        info.label = Some(name.to_owned());
        info
    });
    let wrong = wrong.into_inner();
    if field.gained_focus() || field.changed() || field.dragged() {
        ui.data_mut(|data| data.remove::<String>(key(name)));
    }
    if let Some(wrong) = wrong {
        ui.data_mut(|data| data.insert_temp(key(name), wrong));
        ui.ctx().request_repaint();
    }
    field
}

/// What was wrong with what was typed last into the field of this name, if anything was: to be shown beside it.
pub(super) fn refused(ui: &mut Ui, desk: &Desk, name: &str) {
    if let Some(wrong) = ui.data(|data| data.get_temp::<String>(key(name))) {
        flag(ui, desk, &wrong);
    }
}

/// Forgets what was wrong: the field is about something else now.
pub(super) fn forget(ui: &Ui, name: &str) {
    ui.data_mut(|data| data.remove::<String>(key(name)));
}

/// Something that is not as it should be, beside what it is about.
pub(super) fn flag(ui: &mut Ui, desk: &Desk, text: &str) {
    let colours = Colours::of(desk.view_options().background);
    ui.add(egui::Label::new(RichText::new(text).text_style(super::style::small()).color(colours.middling)).wrap());
}

fn key(name: &str) -> Id {
    Id::new(("typed and refused", name))
}

/// Reads a length in millimetres: a number with a decimal point, with `mm` behind it or without.
fn read(text: &str) -> Result<f64, String> {
    let plain: String = text.trim().trim_end_matches("mm").chars().filter(|c| !c.is_whitespace()).collect();
    let plain = plain.replace('\u{2212}', "-");
    let found = text.trim();
    match plain.parse::<f64>() {
        Ok(mm) if mm.is_finite() => Ok(mm),
        _ if plain.replacen(',', ".", 1).parse::<f64>().is_ok_and(f64::is_finite) => {
            Err(format!("expected a decimal point, found `{found}`; type `{}`", plain.replacen(',', ".", 1)))
        }
        _ => Err(format!("expected a number in mm, such as 60.5, found `{found}`")),
    }
}

#[cfg(test)]
mod tests {
    use super::read;

    #[test]
    fn a_length_is_read_or_refused_with_what_was_expected() {
        for (text, mm) in [("60.5", 60.5), (" -3 mm", -3.0), ("\u{2212}4", -4.0), ("1 000", 1000.0), ("1e2", 100.0)] {
            assert_eq!(read(text), Ok(mm), "{text}");
        }
        for (text, words) in [
            ("a64", "expected a number in mm, such as 60.5, found `a64`"),
            ("", "found ``"),
            ("nan", "found `nan`"),
            ("inf", "found `inf`"),
            ("60,5", "type `60.5`"),
        ] {
            assert!(read(text).is_err_and(|why| why.contains(words)), "{text}");
        }
    }
}
