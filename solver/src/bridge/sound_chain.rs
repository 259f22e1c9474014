//! What makes a chain one that can be asked about: its numbers and its parts, wherever it comes from.

use super::{
    answer::{Chain, ChainPart, MOST_PARTS},
    bad_wish::{BadWish, counted, within},
};
use crate::{
    catalog::Catalog,
    geometry::{FARTHEST_PLACE_MM, Pose, ROTATION_ACCURACY},
};
use std::ops::RangeInclusive;

/// Rounding that a drawn length may carry, in millimetres.
const ROUNDING_MM: f64 = 1e-6;

/// Where a part may stand along each axis, in millimetres.
const PLACES_MM: RangeInclusive<f64> = -FARTHEST_PLACE_MM..=FARTHEST_PLACE_MM;

/// Lengths, misses, losses and prices: anything that a machine of legal size can come to, and not less than nothing.
const AMOUNTS: RangeInclusive<f64> = 0.0..=1e12;

/// Turns in degrees, either way round.
const TURNS_DEG: RangeInclusive<f64> = -360.0..=360.0;

/// What to do about a chain that does not agree with its catalog.
const GIVE_CATALOG: &str = "give the catalog that the chain was found with";

/// What to do about a number that no search gives.
const TAKE_FOUND: &str = "take the chain as `bridge` found it, or correct the number";

impl Chain {
    /// Checks a chain against the rules that every chain of an [`Answer`](super::Answer) keeps: at most [`MOST_PARTS`]
    /// parts, each a link of `catalog` entered by end 0 or 1, in a place within 100 m of the origin and rightly turned,
    /// drawn out no farther than it can be, with a turn if it bends; and every figure a number. A chain without parts
    /// is sound. Whether the chain closes is not looked at.
    ///
    /// # Errors
    /// The first rule that is broken, with its place in the chain.
    pub fn check(&self, catalog: &Catalog) -> Result<(), BadWish> {
        counted("chain.parts.len()", self.parts.len(), &(0..=MOST_PARTS), "a chain has no more parts than that")?;
        for (index, part) in self.parts.iter().enumerate() {
            check_part(part, catalog, &format!("chain.parts[{index}]"))?;
        }
        self.check_figures()
    }

    fn check_figures(&self) -> Result<(), BadWish> {
        let amount =
            |field: &str, value: f64, unit| within(format!("chain.{field}"), value, &AMOUNTS, unit, TAKE_FOUND);
        amount("residual_mm", self.residual_mm, "mm")?;
        amount("residual_deg", self.residual_deg, "degrees")?;
        amount("loss_kpa", self.loss_kpa, "kPa")?;
        amount("length_mm", self.length_mm, "mm")?;
        amount("price", self.price.unwrap_or(0.0), "of the currency")?;
        check_place("chain.residual_vector_mm", &self.residual_vector_mm)?;
        let Some(clearance) = &self.clearance else { return Ok(()) };
        within("chain.clearance.mm", clearance.mm, &PLACES_MM, "mm", TAKE_FOUND)?;
        check_place("chain.clearance.on_chain", &clearance.on_chain)?;
        check_place("chain.clearance.on_body", &clearance.on_body)?;
        let last = self.parts.len().saturating_sub(1);
        counted("chain.clearance.part", clearance.part, &(0..=last), "give the number of a part, counted from 0")
    }
}

fn check_part(part: &ChainPart, catalog: &Catalog, field: &str) -> Result<(), BadWish> {
    let Some(fitting) = catalog.fitting(&part.fitting).filter(|fitting| fitting.is_link()) else {
        return Err(BadWish::Item {
            field: format!("{field}.fitting"),
            expected: "the id of a fitting with two ends",
            found: format!("`{}`", part.fitting),
            remedy: GIVE_CATALOG,
        });
    };
    counted(format!("{field}.entry"), part.entry, &(0..=1), "give the end that faces the first port")?;
    let most = fitting.stretch_mm.unwrap_or(0.0);
    if !(-ROUNDING_MM..=most + ROUNDING_MM).contains(&part.stretch_mm) {
        let remedy = "a part is drawn out by no more than its catalog says";
        within(format!("{field}.stretch_mm"), part.stretch_mm, &(0.0..=most), "mm", remedy)?;
    }
    match part.turn_deg {
        Some(turn) => within(format!("{field}.turn_deg"), turn, &TURNS_DEG, "degrees", TAKE_FOUND)?,
        None if fitting.bends.is_empty() => {}
        None => {
            return Err(BadWish::Item {
                field: format!("{field}.turn_deg"),
                expected: "the turn of a part that bends",
                found: "none".to_owned(),
                remedy: TAKE_FOUND,
            });
        }
    }
    check_pose(&part.pose, &format!("{field}.pose"))
}

/// Checks that a pose is a place within reach and a rotation.
pub(super) fn check_pose(pose: &Pose, field: &str) -> Result<(), BadWish> {
    check_place(&format!("{field}.translation"), pose.translation.vector.as_ref())?;
    let length = pose.rotation.quaternion().norm();
    if (1.0 - ROTATION_ACCURACY..=1.0 + ROTATION_ACCURACY).contains(&length) {
        return Ok(());
    }
    Err(BadWish::Item {
        field: format!("{field}.rotation"),
        expected: "a rotation",
        found: format!("a quaternion of length {length}"),
        remedy: "normalise it first",
    })
}

fn check_place(field: &str, place: &[f64; 3]) -> Result<(), BadWish> {
    let mut axes = place.iter().enumerate();
    axes.try_for_each(|(axis, mm)| within(format!("{field}[{axis}]"), *mm, &PLACES_MM, "mm", TAKE_FOUND))
}
