//! The colours, of light and of dark ground.
//!
//! Colour never says anything alone: what overlaps is hatched and outlined, the path of the coolant is dashed, covers
//! have dotted edges, and what would stand if something were different has dashed edges.

use bevy::color::{Alpha, Srgba};

/// What is drawn in a colour of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Tint {
    /// A sheet of the enclosure.
    Sheet,
    /// A sheet that comes off.
    Cover,
    /// A component; the number chooses among a few quiet tones, so that neighbours are told apart.
    Component(u8),
    /// A part of the chain, in two tones by turns.
    Part(bool),
    /// A part of a chain in another gap, in two tones by turns.
    Other(bool),
    /// A component where it would have to stand.
    Moved,
    /// A part of a chain that would stand if something were different.
    Near,
    /// The ring of a port.
    Port,
    /// The path of the coolant.
    Path,
    /// What stands out: an open joint, and from where turns are counted.
    Sign,
}

/// Tones that components take in turn.
pub const COMPONENT_TONES: u8 = 5;

/// The colours of one ground.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Palette {
    /// The ground.
    pub ground: Srgba,
    /// Lines and letters.
    pub ink: Srgba,
    /// Behind letters.
    pub paper: Srgba,
    /// Overlap.
    pub alarm: Srgba,
    /// Dimensions.
    pub measure: Srgba,
    dark: bool,
}

impl Palette {
    /// The colours on light or dark ground.
    #[must_use]
    pub fn new(dark: bool) -> Self {
        if dark {
            Self {
                ground: hex(0x21_25_2b),
                ink: hex(0xc8_cd_d2),
                paper: hex(0x2b_30_37),
                alarm: hex(0xff_6a_3d),
                measure: hex(0xff_c8_57),
                dark,
            }
        } else {
            Self {
                ground: hex(0xf1_ef_ea),
                ink: hex(0x2e_33_38),
                paper: hex(0xfb_fa_f7),
                alarm: hex(0xc8_36_12),
                measure: hex(0x8a_2b_5e),
                dark,
            }
        }
    }

    /// The colour of a body; its alpha says how much it hides.
    #[must_use]
    pub fn body(&self, tint: Tint) -> Srgba {
        const TONES: [u32; COMPONENT_TONES as usize] = [0xc6_bd_a9, 0xa9_b6_a6, 0xb9_a9_a0, 0xa3_af_ba, 0xc7_c3_b4];
        match tint {
            Tint::Sheet => hex(0x8f_a3_ad).with_alpha(0.055),
            Tint::Cover => hex(0xb5_a9_8c).with_alpha(0.04),
            Tint::Component(tone) => hex(TONES[usize::from(tone % COMPONENT_TONES)]),
            Tint::Part(false) => hex(0x2a_6b_84),
            Tint::Part(true) => hex(0x5d_9a_a8),
            Tint::Other(false) => hex(0x8c_9a_a0),
            Tint::Other(true) => hex(0xb3_bd_c0),
            Tint::Moved => self.measure.with_alpha(0.22),
            Tint::Near => mixed(self.measure, self.paper, 0.5),
            Tint::Port => hex(0xc2_95_2e),
            Tint::Path | Tint::Sign => self.line(tint),
        }
    }

    /// The colour of a body's lines.
    #[must_use]
    pub fn line(&self, tint: Tint) -> Srgba {
        match tint {
            Tint::Sheet | Tint::Cover => mixed(self.ink, self.ground, 0.35),
            Tint::Component(_) | Tint::Port if self.dark => hex(0x3a_40_46),
            Tint::Component(_) => hex(0x55_57_55),
            Tint::Part(_) => hex(0x10_33_40),
            Tint::Other(_) => hex(0x3b_45_4a),
            Tint::Moved | Tint::Sign => self.measure,
            Tint::Near => mixed(self.measure, hex(0), 0.4),
            Tint::Port => hex(0x6d_52_10),
            Tint::Path => {
                if self.dark {
                    hex(0x8f_c1_ff)
                } else {
                    hex(0x16_3f_c4)
                }
            }
        }
    }
}

impl Default for Palette {
    /// On light ground.
    fn default() -> Self {
        Self::new(false)
    }
}

fn hex(rgb: u32) -> Srgba {
    let [_, red, green, blue] = rgb.to_be_bytes();
    Srgba::rgb_u8(red, green, blue)
}

fn mixed(a: Srgba, b: Srgba, share: f32) -> Srgba {
    Srgba::rgb(
        a.red + (b.red - a.red) * share,
        a.green + (b.green - a.green) * share,
        a.blue + (b.blue - a.blue) * share,
    )
}
