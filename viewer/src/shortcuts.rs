//! Keys that change what is shown of the scene: what the bar above it has boxes for.

use crate::app::DeskResource;
use crate::desk::view::{Axis, Background, Projection, Section, ViewOptions};
use crate::look::controls::typing;
use crate::modifiers::commanding;
use crate::scene::Troupe;
use bevy::prelude::*;

/// Acts on the keys.
#[derive(Debug)]
pub struct ShortcutsPlugin;

/// How far one press moves the cut, in millimetres, without and with Shift.
const STEPS_MM: [f64; 2] = [1.0, 10.0];

impl Plugin for ShortcutsPlugin {
    fn build(&self, app: &mut App) {
        app.add_systems(Update, act.run_if(not(typing)));
    }
}

fn act(pressed: Res<ButtonInput<KeyCode>>, troupe: Res<Troupe>, mut desk: ResMut<DeskResource>) {
    if commanding(&pressed) {
        return;
    }
    let shift = pressed.any_pressed([KeyCode::ShiftLeft, KeyCode::ShiftRight]);
    let middle = troupe.bounds().map_or(Vec3::ZERO, |[low, high]| low.midpoint(high));
    for key in pressed.get_just_pressed() {
        desk.bypass_change_detection().0.look(|view| change(view, *key, shift, middle));
    }
}

/// What a key changes, with Shift or without; a new cut goes through `middle`.
fn change(view: &mut ViewOptions, key: KeyCode, shift: bool, middle: Vec3) {
    match key {
        KeyCode::KeyP => {
            view.projection = match view.projection {
                Projection::Perspective => Projection::Parallel,
                Projection::Parallel => Projection::Perspective,
            };
        }
        KeyCode::KeyD => {
            view.background = match view.background {
                Background::Dark => Background::Light,
                Background::Light => Background::Dark,
            };
        }
        KeyCode::KeyC => view.covers = view.covers.next(),
        KeyCode::KeyS => view.see_through = !view.see_through,
        KeyCode::KeyN => view.names = !view.names,
        KeyCode::KeyX => turn(view, Axis::X, middle),
        KeyCode::KeyY => turn(view, Axis::Y, middle),
        KeyCode::KeyZ => turn(view, Axis::Z, middle),
        KeyCode::Comma | KeyCode::Period => {
            if let Some(section) = &mut view.section {
                let sign = if key == KeyCode::Period { 1.0 } else { -1.0 };
                section.at_mm += sign * STEPS_MM[usize::from(shift)];
            }
        }
        _ => {}
    }
}

/// A cut across an axis: first what lies below is kept, then what lies above, then there is no cut.
fn turn(view: &mut ViewOptions, axis: Axis, middle: Vec3) {
    view.section = match view.section {
        Some(section) if section.axis == axis => {
            (!section.keep_above).then_some(Section { keep_above: true, ..section })
        }
        _ => Some(Section { axis, at_mm: f64::from(middle[axis.index()].round()), keep_above: false }),
    };
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::desk::view::Covers;

    #[test]
    fn a_cut_is_turned_over_and_taken_away() {
        let mut view = ViewOptions::default();
        let middle = Vec3::new(10.0, 20.0, 30.4);
        let press = |view: &mut ViewOptions, key| change(view, key, false, middle);
        press(&mut view, KeyCode::KeyZ);
        assert_eq!(view.section, Some(Section { axis: Axis::Z, at_mm: 30.0, keep_above: false }));
        press(&mut view, KeyCode::Period);
        change(&mut view, KeyCode::Comma, true, middle);
        assert_eq!(view.section.map(|section| section.at_mm), Some(21.0));
        press(&mut view, KeyCode::KeyZ);
        assert_eq!(view.section.map(|section| section.keep_above), Some(true));
        press(&mut view, KeyCode::KeyX);
        assert_eq!(view.section.map(|section| section.axis), Some(Axis::X));
        press(&mut view, KeyCode::KeyX);
        press(&mut view, KeyCode::KeyX);
        assert_eq!(view, ViewOptions::default());
    }

    #[test]
    fn covers_are_lifted_then_left_out_then_in_place_again() {
        let mut view = ViewOptions::default();
        for expected in [Covers::Lifted, Covers::Off, Covers::On] {
            change(&mut view, KeyCode::KeyC, false, Vec3::ZERO);
            assert_eq!(view.covers, expected);
        }
    }

    #[test]
    fn pressed_twice_everything_is_as_before() {
        for key in [KeyCode::KeyP, KeyCode::KeyD, KeyCode::KeyS, KeyCode::KeyN] {
            let mut view = ViewOptions::default();
            change(&mut view, key, false, Vec3::ZERO);
            assert_ne!(view, ViewOptions::default(), "{key:?}");
            change(&mut view, key, false, Vec3::ZERO);
            assert_eq!(view, ViewOptions::default(), "{key:?}");
        }
    }
}
