//! What is called barred really is: at every half degree the part, in place, comes nearer to something than it may.

use super::*;
use crate::{
    bridge::{
        closure::{Allowance, Span},
        placed::Site,
        stock::{Stock, loss},
    },
    catalog::Catalog,
    geometry::turned,
    layout::Layout,
};

/// Whether a link that turns at a port comes too near to something at every half degree, tested solid by solid.
fn collides_all_around(site: &Site<'_>, port: usize, link: LinkId, length_mm: f64) -> bool {
    let beginning = site.first_part(port, link, length_mm);
    (0..720).all(|half_degrees| {
        let pose = beginning.entered * turned(f64::from(half_degrees).to_radians() / 2.0);
        beginning.members.iter().any(|member| {
            let solid = member.whole.solid.moved(&pose);
            let nearest = site.scene.nearest(&solid, site.clearance_mm(), |id| member.excused.contains(&id));
            nearest.is_some_and(|(_, separation)| separation.signed_mm < site.clearance_mm())
        })
    })
}

#[test]
fn what_is_barred_collides_however_it_is_turned() {
    let catalog = Catalog::builtin();
    let (name, text) = elbowroom_catalog::DEMO;
    let layout = Layout::parse(text, name, &catalog).unwrap();
    let (mut barred, mut open) = (0, 0);
    for gap in layout.gaps() {
        let ports = [gap.from, gap.to].map(|port| layout.port_by_id(port).unwrap());
        let coolant = layout.coolant();
        let stock = Stock::new(catalog.fittings(), ports, |fitting| loss::micropascals(fitting, 4.0, &coolant));
        let site = Site::new(catalog.fittings(), &layout, ports, 1.0);
        let doorways = Doorways::new(&site, &stock, &Allowance { mm: 0.3, rad: 0.5_f64.to_radians() });
        for turn in (0..stock.turns.len()).step_by(7) {
            for (port, length_mm) in [(0, 0.0), (1, 0.0), (0, 20.0), (1, 60.0), (0, 100.0)] {
                if doorways.bars(port, turn, Span { shortest: length_mm, longest: length_mm }) {
                    barred += 1;
                    for link in &stock.turns[turn].links {
                        assert!(
                            collides_all_around(&site, port, *link, length_mm),
                            "{}: {length_mm} mm from {}",
                            catalog.fittings()[*link as usize / 2].id,
                            ports[port].name,
                        );
                    }
                } else {
                    open += 1;
                }
            }
        }
    }
    assert!(barred > 50 && open > 50, "{barred} barred and {open} open are too few of either to tell");
}
