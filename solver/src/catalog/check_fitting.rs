//! What makes a fitting valid: its numbers one by one, then that its parts agree with each other.

use super::body::BodySolid;
use super::check_shape::{check_face, check_solid};
use super::part::{EndDef, Family, FittingDef, Gender, PartSolid};
use crate::geometry::{GREATEST_SIZE_MM, LEAST_SIZE_MM, Shape, Solid, along, separation};
use crate::source::{Checker, Place};

/// Largest turn of a bend in degrees: beyond it the two legs run into each other.
const SHARPEST_BEND_DEG: f64 = 170.0;

/// Smallest turn of a bend in degrees: what turns less is straight for every purpose here, and a closed form that
/// divides by its sine would lose its digits.
const SLIGHTEST_BEND_DEG: f64 = 1.0;

/// Most bends of one part. Parts have one or two; the limit keeps a mistaken file from costing hours of search.
const MOST_BENDS: usize = 8;

/// Rounding that a length worked out from others may carry, in millimetres.
const ROUNDING_MM: f64 = 1e-9;

/// Checks a fitting.
pub(super) fn check_fitting(fitting: &FittingDef, place: &Place<'_>, checker: &mut Checker<'_>) {
    let before = checker.count();
    checker.word(&place.field("id"), &fitting.id, "an id");
    checker.name(&place.field("name"), &fitting.name, "a descriptive name");
    check_centreline(fitting, place, checker);
    check_ends(fitting, place, checker);
    check_family(fitting, place, checker);
    check_body(fitting, place, checker);
    if let Some(price) = fitting.price {
        checker.within(&place.field("price"), price, "a price", 0.0, 1e9);
    }
    if checker.count() == before && checker.is_sure(place) {
        check_faces(fitting, place, checker);
    }
}

fn check_centreline(fitting: &FittingDef, place: &Place<'_>, checker: &mut Checker<'_>) {
    for (index, leg) in fitting.legs.iter().enumerate() {
        checker.length(&place.field("legs").index(index), *leg, "the length of a leg");
    }
    let (legs_are_listed, bends_are_listed) = (is_listed("legs", place, checker), is_listed("bends", place, checker));
    for (index, bend) in fitting.bends.iter().enumerate() {
        let bends = place.field("bends");
        let here = bends.index(index);
        let angle = here.field("angle_deg");
        checker.within(&angle, bend.angle_deg, "a bend in degrees", SLIGHTEST_BEND_DEG, SHARPEST_BEND_DEG);
        let possible = checker.within(&here.field("roll_deg"), bend.roll_deg, "a roll in degrees", -360.0, 360.0);
        if possible && index == 0 && bend.roll_deg != 0.0 {
            let message = format!("expected no roll of the first bend, found {}", bend.roll_deg);
            let help = "leave it out: the first bend turns towards +x, and later ones roll against the one before";
            checker.refuse(&here.field("roll_deg"), message, help);
        }
    }
    let (legs, bends) = (fitting.legs.len(), fitting.bends.len());
    if legs != bends + 1 && legs_are_listed && bends_are_listed {
        let message = format!("expected one leg more than there are bends ({}), found {legs}", bends + 1);
        let help = "give the straight lengths seat to first bend, bend to bend, last bend to seat";
        checker.refuse(&place.field("legs"), message, help);
    }
    if bends > MOST_BENDS {
        let message = format!("expected at most {MOST_BENDS} bends in one part, found {bends}");
        checker.refuse(&place.field("bends"), message, "split the part");
    }
    if let Some(stretch) = fitting.stretch_mm {
        checker.length(&place.field("stretch_mm"), stretch, "an adjustable length");
    }
    if let Some(branch) = fitting.branch {
        let here = place.field("branch");
        checker.length(&here.field("leg"), branch.leg, "the length of the branch");
        checker.within(
            &here.field("angle_deg"),
            branch.angle_deg,
            "an angle in degrees",
            SLIGHTEST_BEND_DEG,
            SHARPEST_BEND_DEG,
        );
        // A leg that is wrong itself gives no range.
        let run = fitting.legs.first().copied();
        let run =
            run.filter(|run| (LEAST_SIZE_MM..=GREATEST_SIZE_MM).contains(run) && is_sure("legs", 0, place, checker));
        let run = run.unwrap_or(GREATEST_SIZE_MM);
        checker.within(&here.field("at"), branch.at, "a place along leg 0 in mm", 0.0, run);
    }
}

/// Whether a list is the file's own, so that it has as many items as it should, whatever is wrong with one of them.
fn is_listed(list: &str, place: &Place<'_>, checker: &Checker<'_>) -> bool {
    !checker.is_doubtful(&place.field(list))
}

/// Whether an item of a list is the file's own.
fn is_sure(list: &str, index: usize, place: &Place<'_>, checker: &Checker<'_>) -> bool {
    checker.is_sure(&place.field(list).index(index))
}

fn check_ends(fitting: &FittingDef, place: &Place<'_>, checker: &mut Checker<'_>) {
    let bore = place.field("bore_mm");
    let bore_is_good = checker.length(&bore, fitting.bore_mm, "a bore");
    for (index, end) in fitting.ends.iter().enumerate() {
        let ends = place.field("ends");
        let here = ends.index(index);
        checker.length(&here.field("thread_length_mm"), end.thread_length_mm, "a thread length");
        let collar = &here.field("collar_mm");
        let thread_is_known = !checker.is_doubtful(&here.field("thread"));
        if checker.length(collar, end.collar_mm, "a collar diameter") && thread_is_known {
            check_face(end.collar_mm, end.thread, "collar", collar, checker);
        }
        let minor = end.thread.minor_diameter_mm();
        let thread_is_known = thread_is_known && !checker.is_doubtful(&here.field("gender"));
        if bore_is_good && thread_is_known && end.gender == Gender::Male && fitting.bore_mm >= minor {
            let message = format!(
                "expected a bore narrower than the root of the male {} thread of end {index} ({minor:.3} mm), found {}",
                end.thread, fitting.bore_mm
            );
            checker.refuse(&bore, message, "give the smallest bore on the coolant's way");
        }
    }
}

fn check_family(fitting: &FittingDef, place: &Place<'_>, checker: &mut Checker<'_>) {
    let family = fitting.family;
    // Of what family a part is decides on all that follows.
    if checker.is_doubtful(&place.field("family")) || !is_listed("ends", place, checker) {
        return;
    }
    let expected = match family {
        Family::Plug => 1,
        Family::Tee => 3,
        _ => 2,
    };
    if fitting.ends.len() != expected {
        let message = format!("expected {expected} ends of a part of this family, found {}", fitting.ends.len());
        checker.refuse(&place.field("ends"), message, "a plug has one end, a tee three, every other part two");
        return;
    }
    let bends_are_listed = is_listed("bends", place, checker);
    let is_told = |field| {
        let ends = place.field("ends");
        (0..2).all(|index| !checker.is_doubtful(&ends.index(index).field(field)))
    };
    let (genders_are_sure, threads_are_sure) = (is_told("gender"), is_told("thread"));
    let swivels_are_sure = is_told("swivel");
    let mut needs = |good: bool, field: &str, message: &str, help: &str| {
        if !good {
            checker.refuse(&place.field(field), message, help);
        }
    };
    needs(
        fitting.branch.is_some() == (family == Family::Tee),
        "branch",
        if family == Family::Tee {
            "expected the `branch` of a tee, found none"
        } else {
            "expected no `branch`, found one"
        },
        "only a tee has a branch, and every tee has one",
    );
    needs(
        fitting.stretch_mm.is_some() == (family == Family::Link),
        "stretch_mm",
        if family == Family::Link {
            "expected `stretch_mm` of a link, found none"
        } else {
            "expected no `stretch_mm`, found one"
        },
        "a link is adjustable, and no other family is",
    );
    let bends = fitting.bends.len();
    match family {
        _ if !bends_are_listed => {}
        Family::Bend => needs(bends > 0, "bends", "expected a bend, found none", "add a bend or choose another family"),
        Family::Offset => needs(
            bends > 1,
            "bends",
            "expected the two bends of an offset",
            "give the bends that lead out of line and back",
        ),
        _ => {
            needs(bends == 0, "bends", "expected no bend in a straight family", "choose the family `bend` or `offset`")
        }
    }
    let [first, second, ..] = &fitting.ends[..] else { return };
    let swivels = fitting.ends.iter().any(|end: &EndDef| end.swivel);
    match family {
        Family::Extension => needs(
            first.gender != second.gender || !genders_are_sure,
            "ends",
            "expected a male and a female end of an extension",
            "with equal genders the family is `joiner`",
        ),
        Family::Joiner => needs(
            first.gender == second.gender || !genders_are_sure,
            "ends",
            "expected two ends of one gender of a joiner",
            "with a male and a female end the family is `extension`",
        ),
        Family::Swivel => {
            needs(
                swivels || !swivels_are_sure,
                "ends",
                "expected an end that swivels, found none",
                "add `swivel: true` to an end",
            );
        }
        Family::Reducer => needs(
            first.thread != second.thread || !threads_are_sure,
            "ends",
            "expected two thread sizes of a reducer, found one",
            "with equal threads choose another family",
        ),
        _ => {}
    }
}

fn check_body(fitting: &FittingDef, place: &Place<'_>, checker: &mut Checker<'_>) {
    let solids = place.field("solids");
    if fitting.solids.is_empty() {
        checker.refuse(&solids, "expected at least one solid, found none", "add the body, such as a sleeve over a leg");
    }
    // Where there are too few legs or bends for each other, those that are missing may well be meant.
    let count = fitting.legs.len().max(fitting.bends.len() + 1);
    let good = |leg: &f64| Some(*leg).filter(|leg| (LEAST_SIZE_MM..=GREATEST_SIZE_MM).contains(leg));
    let legs: Vec<Option<f64>> = (0..count).map(|leg| fitting.legs.get(leg).and_then(good)).collect();
    let bends = vec![(); count - 1];
    let legs_are_listed = is_listed("legs", place, checker) && is_listed("bends", place, checker);
    let bore_is_good =
        (LEAST_SIZE_MM..=GREATEST_SIZE_MM).contains(&fitting.bore_mm) && !checker.is_doubtful(&place.field("bore_mm"));
    for (index, solid) in fitting.solids.iter().enumerate() {
        let here = solids.index(index);
        match solid {
            PartSolid::Sleeve { leg, from, to, diameter } => {
                let here = here.field("sleeve");
                check_thickness(*diameter, fitting, bore_is_good, &here, checker);
                let length = if legs_are_listed { part_of(&legs, *leg, "leg", &here, checker) } else { None };
                // A leg that is wrong itself, or not known, gives no range.
                let length = length.flatten().filter(|_| is_sure("legs", *leg, place, checker));
                let limit = length.unwrap_or(GREATEST_SIZE_MM);
                let what = format!("a place along leg {leg} in mm");
                let starts = checker.within(&here.field("from"), *from, &what, 0.0, limit);
                let Some(end) = to.or(length) else { continue };
                let ends = checker.within(&here.field("to"), end, &what, 0.0, limit + ROUNDING_MM);
                if starts && ends && end <= *from {
                    let message = format!("expected a sleeve that ends beyond its start at {from} mm, found {end}");
                    checker.refuse(&here, message, "`from` and `to` are measured from the start of the leg");
                }
            }
            PartSolid::Knuckle { bend, diameter } => {
                let here = here.field("knuckle");
                check_thickness(*diameter, fitting, bore_is_good, &here, checker);
                if is_listed("bends", place, checker) {
                    part_of(&bends, *bend, "bend", &here, checker);
                }
            }
            PartSolid::Free(solid) => check_solid(solid, &here.field("free"), checker),
        }
    }
}

/// Checks that nothing of a sound fitting stands where the part that it is screwed to has its own face: in front of a collar.
fn check_faces(fitting: &FittingDef, place: &Place<'_>, checker: &mut Checker<'_>) {
    let most = fitting.stretch_mm.unwrap_or(0.0);
    for stretch in if most > 0.0 { vec![0.0, most] } else { vec![0.0] } {
        let body = fitting.body(stretch);
        for (end, (def, frame)) in fitting.ends.iter().zip(fitting.end_frames(stretch)).enumerate() {
            let ahead = Shape::Cylinder { diameter: def.collar_mm, length: AHEAD_MM };
            let Ok(ahead) = Solid::new(&ahead, frame * along(AHEAD_MM / 2.0)) else { continue };
            let is_past = |solid: &BodySolid| {
                Solid::new(&solid.shape, solid.pose).is_ok_and(|solid| separation(&solid, &ahead).signed_mm < -PAST_MM)
            };
            // A sleeve ends where its leg does. That of a hairpin may still pass beside the other leg's end.
            let past = body.iter().position(|solid| solid.leg.is_none() && is_past(solid));
            if let Some(index) = past {
                let message = format!(
                    "expected nothing in front of the sealing face of end {end}, found a solid that reaches past it"
                );
                let help = "make the leg longer than the body around its bend is thick to that side";
                checker.refuse(&place.field("solids").index(index), message, help);
                return;
            }
        }
    }
}

/// How far in front of a sealing face nothing may be, and how deep something may reach there, in millimetres: rounding.
const AHEAD_MM: f64 = 10.0;
const PAST_MM: f64 = 0.05;

/// A body is wider than the bore inside it.
fn check_thickness(
    diameter: f64,
    fitting: &FittingDef,
    bore_is_good: bool,
    place: &Place<'_>,
    checker: &mut Checker<'_>,
) {
    let here = &place.field("diameter");
    if checker.length(here, diameter, "a diameter") && bore_is_good && diameter <= fitting.bore_mm {
        let message = format!("expected a diameter above the bore ({} mm), found {diameter}", fitting.bore_mm);
        checker.refuse(here, message, "give the outside diameter");
    }
}

fn part_of<T: Copy>(parts: &[T], index: usize, what: &str, place: &Place<'_>, checker: &mut Checker<'_>) -> Option<T> {
    let here = place.field(what);
    if checker.is_doubtful(&here) {
        return None;
    }
    let part = parts.get(index).copied();
    if part.is_none() {
        let message = format!("expected one of {} {what}s counted from 0, found {index}", parts.len());
        checker.refuse(&here, message, format!("give the number of a {what} of this part"));
    }
    part
}
