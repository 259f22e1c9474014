//! Parts that the catalog lacks and with one of which a gap would close.

use super::{
    super::{Chain, search::answered},
    NearMissWishes, first_chain, parts_of,
};
use crate::{
    catalog::{BendDef, Catalog, Family, FittingDef, Gender, PartSolid, Thread},
    layout::{Gap, Layout},
};

/// A part that the catalog lacks.
#[derive(Clone, Debug, PartialEq)]
pub struct Missing {
    /// What it is, such as `a 12 mm G 1/4 extension`.
    pub what: String,
    /// The part as it was tried: a part of the catalog with another length, angle or gender.
    pub part: FittingDef,
    /// The chain that closes with it.
    pub chain: Chain,
}

/// Lengths of extensions that are tried, in millimetres: from a collar to what is still sold in one piece.
const LENGTHS_MM: [f64; 2] = [6.0, 40.0];

/// Lengths are suggested in steps of this many millimetres, which the closure allowance must hide.
const STEP_MM: f64 = 0.5;

/// Angles of bends that are tried, in degrees.
const ANGLES_DEG: [f64; 5] = [15.0, 30.0, 45.0, 60.0, 75.0];

/// Longest chain that a new part is tried in: each further part costs some thirty times as much.
const MOST_PARTS: usize = 3;

/// Chains looked at for each kind of part: some use the new part more than once.
const CHAINS: usize = 10;

pub(super) fn missing(catalog: &Catalog, layout: &Layout, gap: &Gap, wishes: &NearMissWishes) -> Vec<Missing> {
    let Some(port) = layout.port_by_id(gap.from) else { return Vec::new() };
    let thread = port.thread;
    let wishes = &NearMissWishes { max_parts: wishes.max_parts.min(MOST_PARTS), ..*wishes };
    let mut found = Vec::new();
    found.extend(extension(catalog, thread).and_then(|part| {
        let chain = with_one(catalog, std::slice::from_ref(&part), layout, gap, wishes)?;
        let drawn = chain.parts.iter().find(|placed| placed.fitting == part.id)?.stretch_mm;
        fixed_length(catalog, &part, drawn, &chain, layout, gap, wishes)
    }));
    for parts in [bends(catalog, thread), joiners(catalog, thread)] {
        if let Some(chain) = with_one(catalog, &parts, layout, gap, wishes) {
            let part = parts.into_iter().find(|part| chain.parts.iter().any(|placed| placed.fitting == part.id));
            found.extend(part.map(|part| Missing { what: format!("a {}", part.name), part, chain }));
        }
    }
    found
}

/// The best chain that uses exactly one of the new parts.
fn with_one(
    catalog: &Catalog,
    new: &[FittingDef],
    layout: &Layout,
    gap: &Gap,
    wishes: &NearMissWishes,
) -> Option<Chain> {
    if new.is_empty() {
        return None;
    }
    let more = with(catalog, new)?;
    let is_new = |id: &str| new.iter().any(|part| part.id == id);
    let chains = answered(&more, layout, gap, &wishes.search(CHAINS)).chains;
    chains.into_iter().find(|chain| chain.parts.iter().filter(|placed| is_new(&placed.fitting)).count() == 1)
}

fn with(catalog: &Catalog, new: &[FittingDef]) -> Option<Catalog> {
    let fittings = catalog.fittings().iter().chain(new).cloned().collect();
    Catalog::from_parts(fittings, Vec::new()).ok()
}

/// An id that no part of the catalog has.
fn new_id(catalog: &Catalog, wanted: &str) -> String {
    let mut id = format!("new-{wanted}");
    while catalog.fitting(&id).is_some() {
        id.push_str("-x");
    }
    id
}

/// An extension of any length: an adjustable part, for the search.
fn extension(catalog: &Catalog, thread: Thread) -> Option<FittingDef> {
    let model = model(catalog, thread, |fitting| {
        fitting.family == Family::Extension && fitting.ends.iter().all(|end| !end.swivel)
    })?;
    let [least, most] = LENGTHS_MM;
    Some(FittingDef {
        id: new_id(catalog, "extension"),
        name: format!("{thread} extension"),
        family: Family::Link,
        stretch_mm: Some(most - least),
        ..resized(model, least)?
    })
}

/// The chain again with the extension made in a length that can be ordered.
fn fixed_length(
    catalog: &Catalog,
    part: &FittingDef,
    drawn_mm: f64,
    chain: &Chain,
    layout: &Layout,
    gap: &Gap,
    wishes: &NearMissWishes,
) -> Option<Missing> {
    let exact = LENGTHS_MM[0] + drawn_mm;
    let length = (exact / STEP_MM).round() * STEP_MM;
    let what = format!("a {length} mm {}", part.name);
    let part = FittingDef { family: Family::Extension, stretch_mm: None, ..resized(part, length)? };
    let fittings = parts_of(&with(catalog, std::slice::from_ref(&part))?, chain)?;
    let chain = first_chain(&fittings, layout, gap, wishes)?;
    let uses = chain.parts.iter().filter(|placed| placed.fitting == part.id).count();
    (uses == 1).then_some(Missing { what, part, chain })
}

/// Bends of angles that are not in stock.
fn bends(catalog: &Catalog, thread: Thread) -> Vec<FittingDef> {
    let single = |fitting: &FittingDef| fitting.family == Family::Bend && fitting.bends.len() == 1;
    let Some(model) = model(catalog, thread, |fitting| single(fitting) && fitting.ends.iter().any(|end| end.swivel))
    else {
        return Vec::new();
    };
    let in_stock = |angle: f64| {
        let mut bends = catalog.fittings().iter().filter(|fitting| fitting.ends.iter().all(|end| end.thread == thread));
        bends.any(|fitting| single(fitting) && fitting.bends.iter().any(|bend| (bend.angle_deg - angle).abs() < 0.5))
    };
    let bend = |angle_deg: f64| FittingDef {
        id: new_id(catalog, &format!("bend-{angle_deg}")),
        name: format!("{thread} bend of {angle_deg}°"),
        bends: vec![BendDef { angle_deg, roll_deg: 0.0 }],
        price: None,
        ..model.clone()
    };
    ANGLES_DEG.into_iter().filter(|angle| !in_stock(*angle)).map(bend).collect()
}

/// Joiners of two like ends that are not in stock.
fn joiners(catalog: &Catalog, thread: Thread) -> Vec<FittingDef> {
    let has = |gender: Gender| {
        let mut straights = catalog.fittings().iter().filter(|fitting| fitting.is_link());
        straights.any(|fitting| fitting.ends.iter().all(|end| end.thread == thread && end.gender == gender))
    };
    let Some(model) = model(catalog, thread, |fitting| fitting.family == Family::Extension) else { return Vec::new() };
    let joiner = |gender: Gender| {
        let mut ends = model.ends.clone();
        let end = ends.iter().find(|end| end.gender == gender).cloned()?;
        ends.iter_mut().for_each(|old| *old = end.clone());
        Some(FittingDef {
            id: new_id(catalog, &format!("joiner-{gender}")),
            name: format!("{thread} joiner with two {gender} ends"),
            family: Family::Joiner,
            ends,
            price: None,
            ..model.clone()
        })
    };
    [Gender::Male, Gender::Female].into_iter().filter(|gender| !has(*gender)).filter_map(joiner).collect()
}

/// The shortest part of the catalog in this thread that `suits`.
fn model(catalog: &Catalog, thread: Thread, suits: impl Fn(&FittingDef) -> bool) -> Option<&FittingDef> {
    let length = |fitting: &FittingDef| fitting.legs.iter().sum::<f64>();
    let parts = catalog.fittings().iter().filter(|fitting| fitting.is_link());
    let parts = parts.filter(|fitting| suits(fitting) && fitting.ends.iter().all(|end| end.thread == thread));
    parts.min_by(|a, b| length(a).total_cmp(&length(b)))
}

/// A straight part in another length, as thick as it is at its thickest.
fn resized(part: &FittingDef, length: f64) -> Option<FittingDef> {
    let width = |solid: &PartSolid| match solid {
        PartSolid::Sleeve { diameter, .. } | PartSolid::Knuckle { diameter, .. } => Some(*diameter),
        PartSolid::Free(_) => None,
    };
    let diameter = part.solids.iter().map(width).collect::<Option<Vec<_>>>()?.into_iter().fold(0.0, f64::max);
    let solids = vec![PartSolid::Sleeve { leg: 0, from: 0.0, to: None, diameter }];
    Some(FittingDef { legs: vec![length], solids, price: None, ..part.clone() })
}
