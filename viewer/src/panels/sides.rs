//! Which panels stand beside the scene, and how wide: in a small window one at a time, so that the scene keeps its room.

use egui::Ui;

/// The panels beside the scene.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Side {
    /// The gaps, and the component that is placed.
    Gaps,
    /// The chains of the gap that is looked at.
    Chains,
}

/// Which of them are open.
#[derive(Clone, Copy, Debug)]
pub(super) struct Sides {
    /// In a wide window, each for itself.
    wide: [bool; 2],
    /// In a narrow one, at most one.
    narrow: Option<Side>,
}

/// Windows narrower than this, in points at the normal size of letters, have room for one panel.
const NARROW: f32 = 1_000.0;

impl Default for Sides {
    fn default() -> Self {
        Self { wide: [true; 2], narrow: Some(Side::Gaps) }
    }
}

impl Sides {
    /// Whether a panel is open in a window of this width.
    pub(super) fn is_open(&self, side: Side, width: f32, scale: f32) -> bool {
        if is_narrow(width, scale) { self.narrow == Some(side) } else { self.wide[side as usize] }
    }

    fn toggle(&mut self, side: Side, width: f32, scale: f32) {
        if is_narrow(width, scale) {
            self.narrow = if self.narrow == Some(side) { None } else { Some(side) };
        } else {
            self.wide[side as usize] = !self.wide[side as usize];
        }
    }

    /// The buttons that open and fold the panels.
    pub(super) fn buttons(&mut self, ui: &mut Ui, width: f32, scale: f32) {
        for (side, word) in [(Side::Gaps, "Gaps"), (Side::Chains, "Chains")] {
            let open = self.is_open(side, width, scale);
            let help = if open { "Fold this panel away" } else { "Open this panel" };
            if ui.selectable_label(open, word).on_hover_text(help).clicked() {
                self.toggle(side, width, scale);
            }
        }
    }
}

fn is_narrow(width: f32, scale: f32) -> bool {
    width < NARROW * scale
}

/// Least, usual and greatest width of a panel in a window of this width.
pub(super) fn widths(side: Side, width: f32, scale: f32) -> [f32; 3] {
    let (usual, share) = match side {
        Side::Gaps => (268.0 * scale, 0.22),
        Side::Chains => (450.0 * scale, 0.34),
    };
    if is_narrow(width, scale) {
        // Alone beside the scene, which keeps more than half of the window.
        let most = width * 0.42;
        return [most.min(200.0), (300.0 * scale).min(most), most];
    }
    let usual = usual.min((width * share).max(200.0));
    [200.0_f32.min(usual), usual, (width * 0.45).max(usual)]
}

#[cfg(test)]
mod tests {
    use super::{Side, Sides, widths};

    #[test]
    fn a_narrow_window_has_one_panel_at_a_time_and_a_wide_one_both() {
        let mut sides = Sides::default();
        let open = |sides: &Sides, width| [Side::Gaps, Side::Chains].map(|side| sides.is_open(side, width, 1.0));
        assert_eq!((open(&sides, 800.0), open(&sides, 1_440.0)), ([true, false], [true, true]));
        sides.toggle(Side::Chains, 800.0, 1.0);
        assert_eq!((open(&sides, 800.0), open(&sides, 1_440.0)), ([false, true], [true, true]));
        sides.toggle(Side::Chains, 800.0, 1.0);
        sides.toggle(Side::Gaps, 1_440.0, 1.0);
        assert_eq!((open(&sides, 800.0), open(&sides, 1_440.0)), ([false, false], [false, true]));
    }

    #[test]
    fn the_scene_keeps_its_room() {
        for (width, scale) in [(640.0, 1.0), (800.0, 1.0), (800.0, 2.0), (1_000.0, 1.0), (1_240.0, 1.0), (1_440.0, 1.0)]
        {
            let sides = Sides::default();
            let both = [Side::Gaps, Side::Chains].map(|side| {
                let [least, usual, most] = widths(side, width, scale);
                assert!(least <= usual && usual <= most, "{side:?} at {width}");
                if sides.is_open(side, width, scale) { usual } else { 0.0 }
            });
            assert!(both.iter().sum::<f32>() <= width * 0.6, "{both:?} of {width}");
        }
    }
}
