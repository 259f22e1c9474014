//! What is said to run into something does: each of the parts that make a run, in place, and moved as far as the closure
//! allowance lets a chain be off.

use crate::{
    bridge::{
        closure::Allowance,
        placed::{Site, site::solids_of},
        search::doorways::Doorways,
        stock::{LinkId, Runs, Stock, loss},
    },
    catalog::Catalog,
    geometry::{Pose, SolidId, Vector, face_to_face},
    layout::Layout,
};

const ALLOWANCE: Allowance = Allowance { mm: 0.3, rad: 0.008 };

/// Calls `each` with the site, the stock and the doorways of every gap of the demo.
fn each_gap(clearance_mm: f64, mut each: impl FnMut(&Site<'_>, &Stock, &Doorways<'_>)) {
    let catalog = Catalog::builtin();
    let (name, text) = elbowroom_catalog::DEMO;
    let layout = Layout::parse(text, name, &catalog).unwrap();
    for gap in layout.gaps() {
        let ports = [gap.from, gap.to].map(|port| layout.port_by_id(port).unwrap());
        let coolant = layout.coolant();
        let stock = Stock::new(catalog.fittings(), ports, |fitting| loss::micropascals(fitting, 4.0, &coolant));
        let site = Site::new(catalog.fittings(), &layout, ports, clearance_mm);
        each(&site, &stock, &Doorways::new(&site, &stock, &ALLOWANCE));
    }
}

/// Whether a row of links from a port, its adjustable parts drawn out fully or not at all, comes too near to something.
fn collides(site: &Site<'_>, [at, off]: [Pose; 2], seats: &[SolidId], links: &[LinkId], drawn: bool) -> bool {
    let mut here = at * off;
    links.iter().any(|link| {
        let fitting = site.fitting(*link);
        let stretch = fitting.stretch_mm.filter(|_| drawn).unwrap_or(0.0);
        let ends = fitting.end_frames(stretch);
        let entry = (link & 1) as usize;
        let pose = if entry == 0 { here } else { here * face_to_face().inverse() * ends[1].inverse() };
        here = pose * ends[1 - entry];
        solids_of(fitting, stretch).iter().any(|(solid, _)| {
            site.scene.any_within(&solid.moved(&pose), site.clearance_mm(), |id| seats.contains(&id)).is_some()
        })
    })
}

#[test]
fn runs_that_are_barred_collide_whatever_makes_them() {
    let (mut barred, mut open) = (0, 0);
    for clearance_mm in [0.0, 1.0, 4.0] {
        each_gap(clearance_mm, |site, stock, doorways| {
            let runs = Runs::new(stock, 2);
            let sockets: Vec<_> = stock.bends.iter().map(|(entry, _)| *entry).collect();
            let lists = [1, 2].into_iter().flat_map(|parts| sockets.iter().map(move |socket| (parts, *socket)));
            for ((parts, socket), port) in lists.flat_map(|list| [(list, 0), (list, 1)]) {
                let from = [stock.from, stock.to][port];
                let list = runs.between(from, socket, parts);
                let first_barred = doorways.open_runs(port, list);
                for (index, run) in list.runs.iter().enumerate().step_by(if parts == 1 { 1 } else { 23 }) {
                    assert_eq!(doorways.bars_run(port, list, run), index >= first_barred);
                    if index < first_barred {
                        open += 1;
                        continue;
                    }
                    barred += 1;
                    let (at, seats) = site.seat(port);
                    let mut offs = vec![Pose::identity()];
                    if port == 1 {
                        // As far off as may be, to each side, and leaning to each side.
                        let sides = [Vector::x(), Vector::y(), Vector::z()].map(|axis| axis * ALLOWANCE.mm);
                        let leans = [Vector::x(), Vector::y()].map(|axis| axis * ALLOWANCE.rad);
                        offs.extend(sides.iter().flat_map(|side| leans.map(|lean| Pose::new(*side, lean))));
                        offs.extend(sides.iter().flat_map(|side| leans.map(|lean| Pose::new(-side, -lean))));
                    }
                    for links in runs.spell(from, socket, parts, run) {
                        for (off, drawn) in offs.iter().flat_map(|off| [(*off, false), (*off, true)]) {
                            assert!(
                                collides(site, [at, off], seats, &links, drawn),
                                "{:?} {off:?}",
                                links.iter().map(|link| &site.fitting(*link).id).collect::<Vec<_>>()
                            );
                        }
                    }
                }
            }
        });
    }
    assert!(barred > 300 && open > 300, "{barred} barred and {open} open are too few of either to tell");
}

/// A board across the way: runs have room up to it, give or take the grain, and what the second port may be off.
#[test]
fn runs_have_room_just_as_far_as_nothing_is_in_the_way() {
    let disc = "solids: [(shape: cylinder(diameter: 20, length: 3), at: (0, 0, -1.5))]";
    let port =
        "ports: [(name: \"port\", at: (0, 0, 0), facing: \"+z\", thread: \"G 1/4\", thread_length_mm: 8, seat_mm: 20)]";
    let layout = format!(
        "(version: 1, name: \"board\", components: [
            (name: \"from\", at: (0, 0, 0), {disc}, {port}),
            (name: \"to\", at: (60, 0, 0), {disc}, {port}),
            (name: \"board\", at: (30, 0, 41), solids: [(shape: box(size: (140, 90, 2)), at: (0, 0, 0))]),
        ])"
    );
    let catalog = Catalog::builtin();
    let layout = Layout::parse(&layout, "board", &catalog).unwrap_or_else(|problems| panic!("{problems:?}"));
    let gap = layout.gap("from.port", "to.port").unwrap();
    let ports = [gap.from, gap.to].map(|port| layout.port_by_id(port).unwrap());
    let stock = Stock::new(catalog.fittings(), ports, |_| 1);
    let site = Site::new(catalog.fittings(), &layout, ports, 1.0);
    let doorways = Doorways::new(&site, &stock, &ALLOWANCE);
    for tube_mm in [0.6, 4.0, 9.0] {
        let [first, second] = [0, 1].map(|port| doorways.end_mm(port, tube_mm));
        // The board begins at 40 mm, and the clearance is 1 mm.
        assert!((39.0..39.5).contains(&first), "{first}");
        let off = ALLOWANCE.mm + ALLOWANCE.rad * (first + tube_mm);
        assert!((39.0 + off..39.5 + off).contains(&second), "{second} for {off}");
    }
    for tube_mm in [0.0, 0.4, f64::INFINITY] {
        assert!(doorways.end_mm(0, tube_mm).is_infinite());
    }
}
