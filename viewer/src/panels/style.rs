//! The panels' look: small letters, flat grounds, thin lines, one colour for what is chosen.

use crate::desk::{
    GapState,
    view::{Background, ViewOptions},
};
use egui::{Color32, CornerRadius, FontFamily, FontId, Margin, Shadow, Stroke, Style, TextStyle, Visuals, vec2};

/// The colours of one ground.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Colours {
    pub(super) ground: Color32,
    raised: Color32,
    sunk: Color32,
    pub(super) line: Color32,
    pub(super) ink: Color32,
    pub(super) faint: Color32,
    pub(super) chosen: Color32,
    chosen_ground: Color32,
    pub(super) good: Color32,
    pub(super) middling: Color32,
    pub(super) bad: Color32,
}

const DARK: Colours = Colours {
    ground: Color32::from_rgb(0x1b, 0x1f, 0x24),
    raised: Color32::from_rgb(0x2b, 0x31, 0x38),
    sunk: Color32::from_rgb(0x14, 0x17, 0x1b),
    line: Color32::from_rgb(0x3a, 0x41, 0x49),
    ink: Color32::from_rgb(0xd3, 0xd6, 0xd8),
    faint: Color32::from_rgb(0x93, 0x9b, 0xa2),
    chosen: Color32::from_rgb(0x7d, 0xc0, 0xcf),
    chosen_ground: Color32::from_rgb(0x1f, 0x43, 0x50),
    good: Color32::from_rgb(0x8f, 0xc2, 0x9b),
    middling: Color32::from_rgb(0xff, 0xc8, 0x57),
    bad: Color32::from_rgb(0xff, 0x7d, 0x55),
};

const LIGHT: Colours = Colours {
    ground: Color32::from_rgb(0xf8, 0xf6, 0xf2),
    raised: Color32::from_rgb(0xe7, 0xe4, 0xdd),
    sunk: Color32::from_rgb(0xff, 0xff, 0xfd),
    line: Color32::from_rgb(0xc9, 0xc5, 0xbc),
    ink: Color32::from_rgb(0x2a, 0x2f, 0x34),
    faint: Color32::from_rgb(0x63, 0x6a, 0x70),
    chosen: Color32::from_rgb(0x1d, 0x5c, 0x75),
    chosen_ground: Color32::from_rgb(0xcf, 0xe3, 0xe8),
    good: Color32::from_rgb(0x2c, 0x6b, 0x3c),
    middling: Color32::from_rgb(0x8a, 0x5a, 0x00),
    bad: Color32::from_rgb(0xb5, 0x30, 0x0e),
};

impl Colours {
    pub(super) fn of(background: Background) -> &'static Self {
        match background {
            Background::Dark => &DARK,
            Background::Light => &LIGHT,
        }
    }

    /// The colour of a gap's state; its sign and its word say the same.
    pub(super) fn state(&self, state: GapState) -> Color32 {
        match state {
            GapState::Unknown => self.faint,
            GapState::Bridged => self.good,
            GapState::CannotBeMadeUp | GapState::Nearly | GapState::NotProven => self.middling,
            GapState::Blocked => self.bad,
        }
    }
}

/// Small letters, for what stands under something else.
pub(super) fn small() -> TextStyle {
    TextStyle::Small
}

/// Letters of a heading.
pub(super) fn heading() -> TextStyle {
    TextStyle::Heading
}

/// Gives everything in `ctx` the project's look. Does nothing when it has it already.
pub(super) fn apply(ctx: &egui::Context, view: &ViewOptions) {
    let key = egui::Id::new("elbowroom look");
    let wanted = (view.background, view.text_scale.to_bits());
    if ctx.data(|data| data.get_temp::<(Background, u32)>(key)) == Some(wanted) {
        return;
    }
    ctx.data_mut(|data| data.insert_temp(key, wanted));
    let dark = view.background == Background::Dark;
    ctx.set_theme(if dark { egui::Theme::Dark } else { egui::Theme::Light });
    let colours = Colours::of(view.background);
    ctx.all_styles_mut(|style| dress(style, colours, dark, view.text_scale));
}

fn dress(style: &mut Style, colours: &Colours, dark: bool, scale: f32) {
    let font = |size: f32, family| FontId::new(size * scale, family);
    style.text_styles = [
        (TextStyle::Small, font(11.0, FontFamily::Proportional)),
        (TextStyle::Body, font(12.5, FontFamily::Proportional)),
        (TextStyle::Button, font(12.5, FontFamily::Proportional)),
        (TextStyle::Heading, font(13.5, FontFamily::Proportional)),
        (TextStyle::Monospace, font(11.5, FontFamily::Monospace)),
    ]
    .into();
    let spacing = &mut style.spacing;
    spacing.item_spacing = vec2(6.0, 3.0) * scale;
    spacing.button_padding = vec2(6.0, 2.0) * scale;
    spacing.interact_size = vec2(28.0, 18.0) * scale;
    spacing.slider_width = 180.0 * scale;
    spacing.slider_rail_height = 3.0;
    spacing.combo_width = 64.0 * scale;
    spacing.icon_width = 12.0 * scale;
    spacing.icon_width_inner = 7.0 * scale;
    spacing.window_margin = Margin::same(10);
    spacing.scroll.floating = false;
    spacing.scroll.bar_width = 6.0;
    style.interaction.selectable_labels = true;
    style.animation_time = 0.0;
    style.visuals = visuals(colours, dark);
}

fn visuals(colours: &Colours, dark: bool) -> Visuals {
    let mut visuals = if dark { Visuals::dark() } else { Visuals::light() };
    let corner = CornerRadius::same(2);
    visuals.override_text_color = None;
    visuals.weak_text_color = Some(colours.faint);
    visuals.panel_fill = colours.ground;
    visuals.window_fill = colours.ground;
    visuals.window_stroke = Stroke::new(1.0, colours.line);
    visuals.window_corner_radius = CornerRadius::same(3);
    visuals.window_shadow = Shadow::NONE;
    visuals.popup_shadow = Shadow::NONE;
    visuals.extreme_bg_color = colours.sunk;
    visuals.faint_bg_color = colours.raised.gamma_multiply(0.35);
    visuals.code_bg_color = colours.sunk;
    visuals.hyperlink_color = colours.chosen;
    visuals.warn_fg_color = colours.middling;
    visuals.error_fg_color = colours.bad;
    visuals.selection.bg_fill = colours.chosen_ground;
    visuals.selection.stroke = Stroke::new(1.0, if dark { colours.ink } else { colours.chosen });
    visuals.striped = false;
    // A cursor that blinks draws the whole window anew.
    visuals.text_cursor.blink = false;
    visuals.slider_trailing_fill = true;
    let widgets = &mut visuals.widgets;
    for widget in [
        &mut widgets.noninteractive,
        &mut widgets.inactive,
        &mut widgets.hovered,
        &mut widgets.active,
        &mut widgets.open,
    ] {
        widget.corner_radius = corner;
        widget.expansion = 0.0;
        widget.fg_stroke = Stroke::new(1.0, colours.ink);
        widget.bg_stroke = Stroke::new(1.0, colours.line);
        widget.bg_fill = colours.raised;
        widget.weak_bg_fill = colours.raised;
    }
    widgets.noninteractive.weak_bg_fill = colours.ground;
    widgets.noninteractive.bg_fill = colours.ground;
    widgets.inactive.bg_stroke = Stroke::NONE;
    widgets.hovered.bg_stroke = Stroke::new(1.0, colours.faint);
    widgets.active.bg_stroke = Stroke::new(1.0, colours.chosen);
    widgets.active.fg_stroke = Stroke::new(1.0, colours.chosen);
    visuals
}
