//! How thick parts are about their centreline at least: what a chain holds for certain, whichever of its parts is where.

use crate::catalog::{FittingDef, PartSolid};

/// Least length of a sleeve that counts, in millimetres: no solid is made of a shorter one.
const LEAST_SLEEVE_MM: f64 = 0.01;

/// Radius in millimetres of a tube about the centreline that lies wholly in the part's sleeves, and around each bend in its
/// knuckle; 0 where part of the centreline is bare, and for parts of adjustable length.
///
/// So a ball of this radius about any point between two bends of a chain lies in the solids that the chain has there: the
/// sleeves of the run, however short they are, and beyond its corners the knuckles.
pub(in crate::bridge) fn core_mm(fitting: &FittingDef) -> f64 {
    if fitting.stretch_mm.is_some() {
        return 0.0;
    }
    let legs = (0..fitting.legs.len()).map(|leg| thinnest(fitting, leg, 0.0));
    let bends = (0..fitting.bends.len()).map(|index| {
        let knuckles = fitting.solids.iter().filter_map(|solid| match solid {
            PartSolid::Knuckle { bend, diameter } if *bend == index => Some(*diameter),
            _ => None,
        });
        knuckles.fold(0.0, f64::max)
    });
    legs.chain(bends).fold(f64::INFINITY, f64::min).max(0.0) / 2.0
}

/// Radius in millimetres of a tube about the centreline of a straight part, from seat to seat, that lies wholly in its
/// sleeves however far it is drawn out; 0 where part of the centreline is bare.
pub(in crate::bridge) fn tube_mm(fitting: &FittingDef) -> f64 {
    // A sleeve either stays where it is or goes on to the end of its leg, so that each place along a leg is as thick as with
    // the part pushed together or fully drawn out.
    let draws = [0.0, fitting.stretch_mm.unwrap_or(0.0)];
    let legs = (0..fitting.legs.len()).flat_map(|leg| draws.map(|draw| thinnest(fitting, leg, draw)));
    legs.fold(f64::INFINITY, f64::min).max(0.0) / 2.0
}

/// Least diameter of what is around a leg, over its whole length, of a part drawn out so far.
fn thinnest(fitting: &FittingDef, leg: usize, draw: f64) -> f64 {
    let length = fitting.leg_length(leg, draw);
    let sleeves: Vec<[f64; 3]> = fitting
        .solids
        .iter()
        .filter_map(|solid| match solid {
            PartSolid::Sleeve { leg: on, from, to, diameter } if *on == leg => {
                Some([*from, to.unwrap_or(length), *diameter])
            }
            _ => None,
        })
        .filter(|[from, to, _]| to - from > LEAST_SLEEVE_MM)
        .collect();
    let mut places: Vec<f64> = sleeves.iter().flat_map(|[from, to, _]| [*from, *to]).chain([0.0, length]).collect();
    places.retain(|place| (0.0..=length).contains(place));
    places.sort_by(f64::total_cmp);
    let around = |place: f64| {
        let there = sleeves.iter().filter(|[from, to, _]| (*from..=*to).contains(&place));
        there.map(|[.., diameter]| *diameter).fold(0.0, f64::max)
    };
    // Between two places where a sleeve begins or ends nothing changes.
    let between =
        places.windows(2).filter(|ends| ends[0] < ends[1]).map(|ends| around(f64::midpoint(ends[0], ends[1])));
    between.fold(f64::INFINITY, f64::min)
}

#[cfg(test)]
mod tests {
    use super::{core_mm, tube_mm};
    use crate::catalog::{Catalog, FittingDef, PartSolid};

    fn bend(solids: Vec<PartSolid>) -> FittingDef {
        let catalog = Catalog::builtin();
        let bend = catalog.fittings().iter().find(|part| part.id == "bend-60-g14-compact").cloned();
        let bend = bend.expect("in the catalog");
        assert_eq!(bend.legs, [10.0, 10.0]);
        FittingDef { solids, ..bend }
    }

    fn sleeve(leg: usize, from: f64, to: Option<f64>, diameter: f64) -> PartSolid {
        PartSolid::Sleeve { leg, from, to, diameter }
    }

    #[test]
    fn the_thinnest_place_counts() {
        let knuckle = PartSolid::Knuckle { bend: 0, diameter: 15.0 };
        let stepped = [sleeve(0, 0.0, Some(4.0), 16.0), sleeve(0, 4.0, None, 12.0), sleeve(0, 2.0, Some(5.0), 9.0)];
        let solids = |knuckle: Option<&PartSolid>| {
            let rest = [sleeve(1, 0.0, None, 14.0)];
            stepped.iter().chain(&rest).chain(knuckle).cloned().collect()
        };
        assert_eq!(core_mm(&bend(solids(Some(&knuckle)))), 6.0);
        assert_eq!(core_mm(&bend(solids(None))), 0.0);
    }

    #[test]
    fn a_bare_stretch_leaves_nothing() {
        let knuckle = PartSolid::Knuckle { bend: 0, diameter: 15.0 };
        for [end, begin] in [[4.0, 4.1], [0.0, 0.1], [9.9, 10.0]] {
            let on_first = [sleeve(0, 0.0, Some(end), 16.0), sleeve(0, begin, None, 16.0)];
            let solids = on_first.into_iter().chain([sleeve(1, 0.0, None, 14.0), knuckle.clone()]).collect();
            assert_eq!(core_mm(&bend(solids)), 0.0, "bare from {end} to {begin}");
        }
    }

    #[test]
    fn adjustable_parts_promise_nothing() {
        let catalog = Catalog::builtin();
        let adjustable = catalog.fittings().iter().find(|part| part.stretch_mm.is_some()).expect("one of them");
        assert_eq!(core_mm(adjustable), 0.0);
    }

    /// A telescope: a tube that stays 20 mm long from the first seat on, and what slides in it.
    #[test]
    fn a_telescope_is_as_thick_as_where_it_is_drawn_out() {
        let catalog = Catalog::builtin();
        let adjustable = catalog
            .fittings()
            .iter()
            .find(|part| part.stretch_mm.is_some() && part.bends.is_empty())
            .expect("one of them");
        let telescope = |tube: Option<f64>, slide: Option<f64>| {
            let tube = sleeve(0, 0.0, tube, 18.0);
            let solids = slide.map(|from| sleeve(0, from, None, 11.0)).into_iter().chain([tube]).collect();
            FittingDef { legs: vec![20.0], stretch_mm: Some(8.0), solids, ..adjustable.clone() }
        };
        assert_eq!(tube_mm(&telescope(None, None)), 9.0);
        assert_eq!(tube_mm(&telescope(Some(20.0), Some(5.0))), 5.5);
        // Pushed together it is covered, and drawn out there is a gap.
        assert_eq!(tube_mm(&telescope(Some(20.0), None)), 0.0);
        assert_eq!(tube_mm(&telescope(Some(15.0), Some(15.1))), 0.0);
    }
}
