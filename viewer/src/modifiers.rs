//! Keys as they were pressed: each with the modifiers that were held at that moment.
//!
//! The panels' input takes the modifiers of the end of a frame for all keys of the frame. Where a frame takes as long as a
//! tap, Ctrl+Z then looks like Z alone. And it tells of the modifiers in every frame, as if they had changed, whereupon
//! the panels ask for the next frame: the window would never rest.

use bevy::{
    input::keyboard::{Key, KeyboardInput},
    prelude::*,
};
use bevy_egui::{EguiInput, EguiPreUpdateSet, egui, helpers};
use std::collections::VecDeque;

/// Gives every key of the panels' input its own modifiers.
#[derive(Debug)]
pub struct ModifiersPlugin;

/// Control, or the key that stands for it elsewhere.
const COMMAND: [KeyCode; 4] = [KeyCode::ControlLeft, KeyCode::ControlRight, KeyCode::SuperLeft, KeyCode::SuperRight];

impl Plugin for ModifiersPlugin {
    fn build(&self, app: &mut App) {
        let between = mend.after(EguiPreUpdateSet::ProcessInput).before(EguiPreUpdateSet::BeginPass);
        app.add_systems(PreUpdate, between);
    }
}

/// Whether a key that is pressed now may belong to a shortcut with Control: whether that is held, or was at any moment of
/// this frame.
#[must_use]
pub fn commanding(keys: &ButtonInput<KeyCode>) -> bool {
    keys.any_pressed(COMMAND) || keys.any_just_pressed(COMMAND) || keys.any_just_released(COMMAND)
}

fn mend(
    mut typed: MessageReader<KeyboardInput>,
    (mut held, mut told): (Local<egui::Modifiers>, Local<Option<egui::Modifiers>>),
    focus: Query<&Window>,
    mut inputs: Query<&mut EguiInput>,
) {
    if !focus.iter().any(|window| window.focused) {
        // What was held is let go elsewhere.
        *held = egui::Modifiers::NONE;
    }
    let mut modifiers = VecDeque::new();
    for key in typed.read() {
        let down = key.state.is_pressed();
        match key.logical_key {
            Key::Shift => held.shift = down,
            Key::Alt => held.alt = down,
            Key::Control => (held.ctrl, held.command) = (down, down),
            _ => {}
        }
        if helpers::bevy_to_egui_key(&key.logical_key).or(helpers::bevy_to_egui_physical_key(&key.key_code)).is_some() {
            modifiers.push_back(*held);
        }
    }
    let before = *told;
    for mut input in &mut inputs {
        *told = before;
        let events = with_their_own(std::mem::take(&mut input.events), modifiers.clone());
        input.events = without_old_news(events, &mut told);
    }
}

/// The events but for those that tell of modifiers that are `told` already.
fn without_old_news(mut events: Vec<egui::Event>, told: &mut Option<egui::Modifiers>) -> Vec<egui::Event> {
    events.retain(|event| match event {
        egui::Event::ModifiersChanged(now) => told.replace(*now) != Some(*now),
        _ => true,
    });
    events
}

/// The events with the modifiers of their keys, in order; what a shortcut would have typed is left out.
fn with_their_own(events: Vec<egui::Event>, mut modifiers: VecDeque<egui::Modifiers>) -> Vec<egui::Event> {
    let mut mended: Vec<egui::Event> = Vec::with_capacity(events.len());
    for mut event in events {
        if let egui::Event::Key { pressed, modifiers: own, .. } = &mut event
            && let Some(held) = modifiers.pop_front()
        {
            *own = held;
            if *pressed && held.command && matches!(mended.last(), Some(egui::Event::Text(_))) {
                mended.pop();
            }
        }
        mended.push(event);
    }
    mended
}

#[cfg(test)]
mod tests {
    use super::{with_their_own, without_old_news};
    use bevy_egui::egui::{Event, Key, Modifiers};

    #[test]
    fn modifiers_are_told_once() {
        let mut told = None;
        let changed = |modifiers| vec![Event::ModifiersChanged(modifiers)];
        assert_eq!(without_old_news(changed(Modifiers::NONE), &mut told).len(), 1);
        assert_eq!(without_old_news(changed(Modifiers::NONE), &mut told).len(), 0);
        assert_eq!(without_old_news(changed(Modifiers::SHIFT), &mut told).len(), 1);
        assert_eq!(without_old_news(vec![Event::Copy], &mut told).len(), 1);
    }

    #[test]
    fn a_tap_within_one_frame_keeps_its_modifier() {
        let key = |key, pressed, modifiers| Event::Key { key, pressed, modifiers, repeat: false, physical_key: None };
        let none = Modifiers::NONE;
        let tapped = vec![Event::Text("z".into()), key(Key::Z, true, none), key(Key::Z, false, none)];
        let found = with_their_own(tapped.clone(), [Modifiers::COMMAND, Modifiers::COMMAND].into());
        assert_eq!(found, [key(Key::Z, true, Modifiers::COMMAND), key(Key::Z, false, Modifiers::COMMAND)]);
        assert_eq!(with_their_own(tapped.clone(), [none, none].into()), tapped);
    }
}
