//! What of the scene is shown, and how.

use crate::desk::view::Covers;
use crate::scene::{cast::Item, facets::Cut};
use bevy::{ecs::resource::Resource, math::Vec3};
use std::collections::BTreeSet;

/// What is shown.
#[derive(Clone, Debug, PartialEq, Resource)]
pub struct Show {
    /// Bodies and parts that are not shown.
    pub hidden: BTreeSet<Item>,
    /// Bodies and other things that are faded because they stand before the chain that is looked at.
    pub faded: BTreeSet<Item>,
    /// What is done with panels that come off.
    pub covers: Covers,
    /// Everything but the chain is seen through.
    pub only_chain: bool,
    /// Rings and axes of ports.
    pub ports: bool,
    /// The path of the coolant.
    pub path: bool,
    /// Names of components.
    pub names: bool,
    /// Dimensions: least clearances and depths of overlap.
    pub dimensions: bool,
    /// The plane that cuts the scene open.
    pub section: Option<Section>,
    /// Dark ground.
    pub dark: bool,
}

/// A plane square to one of the layout's axes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Section {
    /// 0, 1, 2 for x, y, z.
    pub axis: usize,
    /// Where on that axis, in millimetres.
    pub at_mm: f32,
    /// Whether the side of lesser coordinates is cut away instead of the greater.
    pub flipped: bool,
}

impl Default for Show {
    fn default() -> Self {
        Self {
            hidden: BTreeSet::new(),
            faded: BTreeSet::new(),
            covers: Covers::On,
            only_chain: false,
            ports: true,
            path: true,
            names: true,
            dimensions: true,
            section: None,
            dark: false,
        }
    }
}

impl Show {
    /// Whether a body or part is shown.
    #[must_use]
    pub fn shows(&self, item: Item) -> bool {
        !self.hidden.contains(&item)
    }
}

impl Section {
    /// The cut in world axes.
    #[must_use]
    pub fn cut(&self) -> Cut {
        let sign = if self.flipped { -1.0 } else { 1.0 };
        let axis = [Vec3::X, Vec3::Y, Vec3::Z].get(self.axis).copied().unwrap_or(Vec3::X);
        Cut { normal: axis * sign, at_mm: self.at_mm * sign }
    }
}
