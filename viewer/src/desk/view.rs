//! How the scene is looked at, as far as it is a choice and not a place of the camera.

use std::collections::BTreeSet;

/// Something that can be hidden.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Item {
    /// A panel or component, by its place in the layout's list of bodies.
    Body(usize),
    /// A part of the chain that is shown, counted from 0.
    Part(usize),
}

/// Behind everything.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Background {
    /// Dark ground, light lines.
    #[default]
    Dark,
    /// Light ground, dark lines.
    Light,
}

/// How depth is shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Projection {
    /// As the eye sees.
    #[default]
    Perspective,
    /// As drawings are made.
    Parallel,
}

/// What is done with panels that come off.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Covers {
    /// In place; sheets are seen through anyway.
    #[default]
    On,
    /// Held before where they belong, the way they come off.
    Lifted,
    /// Left out.
    Off,
}

impl Covers {
    /// All three, in order.
    pub const ALL: [Self; 3] = [Self::On, Self::Lifted, Self::Off];

    /// The word for it on screen.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::On => "on",
            Self::Lifted => "lifted",
            Self::Off => "off",
        }
    }

    /// The next of the three.
    #[must_use]
    pub fn next(self) -> Self {
        match self {
            Self::On => Self::Lifted,
            Self::Lifted => Self::Off,
            Self::Off => Self::On,
        }
    }
}

/// An axis of the layout.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Axis {
    /// Along x.
    #[default]
    X,
    /// Along y.
    Y,
    /// Along z.
    Z,
}

/// A plane square to an axis; what lies on one side of it is not shown.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Section {
    /// The axis.
    pub axis: Axis,
    /// Where along it, in millimetres.
    pub at_mm: f64,
    /// Whether what lies above is kept rather than what lies below.
    pub keep_above: bool,
}

/// How the scene is looked at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ViewOptions {
    /// Behind everything.
    pub background: Background,
    /// How depth is shown.
    pub projection: Projection,
    /// What is cut away.
    pub section: Option<Section>,
    /// Whether all but the chain is see-through.
    pub see_through: bool,
    /// What is done with panels that come off.
    pub covers: Covers,
    /// Whether components are named in the scene.
    pub names: bool,
    /// Size of text, as a multiple of its normal size.
    pub text_scale: f32,
}

/// Text sizes that can be chosen.
pub const TEXT_SCALES: std::ops::RangeInclusive<f32> = 0.75..=2.0;

impl Default for ViewOptions {
    fn default() -> Self {
        Self {
            background: Background::Dark,
            projection: Projection::Perspective,
            section: None,
            see_through: false,
            covers: Covers::On,
            names: true,
            text_scale: 1.0,
        }
    }
}

impl Axis {
    /// All three, in order.
    pub const ALL: [Self; 3] = [Self::X, Self::Y, Self::Z];

    /// Its place in `[x, y, z]`.
    #[must_use]
    pub fn index(self) -> usize {
        self as usize
    }

    /// Its name in files and on screen.
    #[must_use]
    pub fn name(self) -> &'static str {
        ["x", "y", "z"][self.index()]
    }
}

/// What is hidden, and what alone is shown.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Hiding {
    hidden: BTreeSet<Item>,
    alone: Option<Item>,
}

impl Hiding {
    /// Whether an item is not to be shown. Parts of the chain stay when a body is shown alone.
    #[must_use]
    pub fn is_hidden(&self, item: &Item) -> bool {
        let beside = self.alone.as_ref().is_some_and(|alone| alone != item && matches!(item, Item::Body(_)));
        beside || self.hidden.contains(item)
    }

    /// Hides an item, or shows it again.
    pub fn toggle(&mut self, item: Item) {
        if !self.hidden.remove(&item) {
            self.hidden.insert(item);
        }
    }

    /// Shows this body and the chain and nothing else; again, to show all the others as well.
    pub fn isolate(&mut self, item: Item) {
        self.alone = if self.alone == Some(item) { None } else { Some(item) };
        self.hidden.remove(&item);
    }

    /// Shows everything.
    pub fn show_all(&mut self) {
        *self = Self::default();
    }

    /// Whether anything is hidden.
    #[must_use]
    pub fn hides_anything(&self) -> bool {
        self.alone.is_some() || !self.hidden.is_empty()
    }
}

#[cfg(test)]
mod tests {
    use super::{Hiding, Item};

    #[test]
    fn what_is_hidden_comes_back() {
        let mut hiding = Hiding::default();
        hiding.toggle(Item::Body(2));
        assert!(hiding.is_hidden(&Item::Body(2)) && !hiding.is_hidden(&Item::Body(1)));
        hiding.toggle(Item::Body(2));
        assert!(!hiding.hides_anything());
        hiding.toggle(Item::Body(3));
        hiding.isolate(Item::Body(3));
        assert!(!hiding.is_hidden(&Item::Body(3)), "what is to be seen alone is seen");
        assert!(hiding.is_hidden(&Item::Body(0)) && !hiding.is_hidden(&Item::Part(0)));
        hiding.show_all();
        assert!(!hiding.hides_anything());
    }
}
