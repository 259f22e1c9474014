//! Keys: what they do here, and the list of all of them.

use super::{Panels, bar};
use crate::desk::{Desk, Question, playback::Playback, view::Item};
use egui::{Key, KeyboardShortcut, Modifiers, Ui};

/// The keys that the panels act on, and what each does.
pub const KEYS: [(&str, &str); 13] = [
    ("F1", "this list"),
    ("Space", "play or pause"),
    ("Left, Right", "to the step before, to the next step"),
    ("Page up, Page down", "the gap before, the next gap"),
    ("1 to 9", "choose a chain of the gap"),
    ("H", "hide the selected component"),
    ("Shift+H", "show everything"),
    ("Ctrl+S", "save as a new file"),
    ("Ctrl+Z", "undo"),
    ("Ctrl+Shift+Z, Ctrl+Y", "redo"),
    ("Ctrl +, Ctrl −", "larger, smaller letters"),
    ("Ctrl+Q", "close; asks first when something is not saved"),
    ("Escape", "let go of what is dragged; select nothing"),
];

/// Keys that choose a chain, the best first.
const CHOICE_KEYS: [Key; 9] =
    [Key::Num1, Key::Num2, Key::Num3, Key::Num4, Key::Num5, Key::Num6, Key::Num7, Key::Num8, Key::Num9];

/// Acts on the keys pressed, unless a field is being typed into.
pub(super) fn act(ctx: &egui::Context, desk: &mut Desk, panels: &mut Panels) {
    let ctrl = |key| KeyboardShortcut::new(Modifiers::COMMAND, key);
    let ctrl_shift = |key| KeyboardShortcut::new(Modifiers::COMMAND | Modifiers::SHIFT, key);
    let used = |shortcut: KeyboardShortcut| ctx.input_mut(|input| input.consume_shortcut(&shortcut));
    if ctx.input_mut(|input| input.consume_key(Modifiers::NONE, Key::F1)) {
        panels.keys_open = !panels.keys_open;
    }
    if used(ctrl(Key::Q)) {
        desk.close();
    }
    let asked = desk.question() == Some(Question::Closing);
    if ctx.egui_wants_keyboard_input() || asked || panels.saving.is_some() {
        return;
    }
    // The longer shortcut first, since the shorter one takes it as well.
    if used(ctrl_shift(Key::Z)) || used(ctrl(Key::Y)) {
        desk.redo();
    }
    if used(ctrl(Key::Z)) {
        desk.undo();
    }
    if used(ctrl(Key::S)) {
        bar::ask(desk, panels, false);
    }
    let scale = desk.view_options().text_scale;
    if used(ctrl(Key::Plus)) || used(ctrl(Key::Equals)) {
        desk.look(|view| view.text_scale = bar::larger(scale, 0.125));
    }
    if used(ctrl(Key::Minus)) {
        desk.look(|view| view.text_scale = bar::larger(scale, -0.125));
    }
    let pressed = |key| ctx.input_mut(|input| input.consume_key(Modifiers::NONE, key));
    if pressed(Key::Space) {
        desk.play(Playback::toggle);
    }
    if pressed(Key::ArrowLeft) {
        desk.step(false);
    }
    if pressed(Key::ArrowRight) {
        desk.step(true);
    }
    if pressed(Key::PageDown) {
        desk.choose_gap(desk.gap().map_or(0, |gap| gap + 1));
    }
    if pressed(Key::PageUp) {
        desk.choose_gap(desk.gap().map_or(0, |gap| gap.saturating_sub(1)));
    }
    for (chain, key) in CHOICE_KEYS.into_iter().enumerate() {
        if pressed(key) {
            desk.choose_chain(chain);
        }
    }
    if ctx.input_mut(|input| input.consume_key(Modifiers::SHIFT, Key::H)) {
        desk.hide(crate::desk::view::Hiding::show_all);
    }
    if pressed(Key::H)
        && let Some(body) = desk.selected()
    {
        desk.hide(|hiding| hiding.toggle(Item::Body(body.index())));
    }
    if pressed(Key::Escape) {
        if desk.dragged().is_some() {
            desk.abort_drag();
        } else if panels.keys_open {
            panels.keys_open = false;
        } else {
            desk.select(None);
        }
    }
}

/// The list, while it is open.
pub(super) fn list(ui: &mut Ui, panels: &mut Panels, free: egui::Rect) {
    let mut open = panels.keys_open;
    let window = egui::Window::new("Keys").open(&mut open).resizable(false).collapsible(false);
    let window = window.default_pos(free.left_top() + egui::vec2(12.0, 12.0));
    window.show(ui.ctx(), |ui| {
        egui::Grid::new("keys").num_columns(2).spacing([18.0, 3.0]).show(ui, |ui| {
            for (key, what) in KEYS.iter().chain(panels.more_keys) {
                ui.strong(*key);
                ui.label(*what);
                ui.end_row();
            }
        });
    });
    panels.keys_open = open;
}
