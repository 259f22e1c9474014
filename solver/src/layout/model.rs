//! What a component consists of, in its own frame: from its own solids and ports, a component template, or a fitting.

use super::file::PlacedDef;
use super::wetted::Wetted;
use crate::catalog::{Catalog, FittingDef, Gender, PortDef, Thread, check_flow, check_ports, check_solids};
use crate::geometry::{Point, Pose, Shape, SolidDef, facing, turned};
use crate::source::{Checker, Place, brief, nearest};

/// A component in its own frame.
#[derive(Default)]
pub(super) struct Model {
    pub(super) solids: Vec<(Shape, Pose)>,
    pub(super) ports: Vec<ModelPort>,
    pub(super) wetted: Wetted,
    /// Whether its ports are called as they are here, as far as the file can be trusted.
    pub(super) names_are_sure: bool,
    /// Whether the solids are what they are here.
    pub(super) solids_are_sure: bool,
}

/// A port in the component's frame.
pub(super) struct ModelPort {
    /// Whether it is known where it sits and where it faces.
    pub(super) is_placed: bool,
    pub(super) name: String,
    pub(super) pose: Pose,
    pub(super) thread: Thread,
    pub(super) gender: Gender,
    pub(super) thread_length_mm: f64,
    pub(super) seat_mm: f64,
    pub(super) stand_off_mm: f64,
}

/// Finds or checks what a placed component consists of. `None` when that cannot be known; parts that are wrong in
/// themselves are noted and given all the same, so that names can still be resolved.
pub(super) fn model(
    placed: &PlacedDef,
    place: &Place<'_>,
    catalog: &Catalog,
    checker: &mut Checker<'_>,
) -> Option<Model> {
    let Some(template) = &placed.template else {
        let may_have = |field| checker.is_doubtful(&place.field(field));
        let is_told = !(may_have("template") || may_have("solids"));
        let list = place.field("solids");
        let solids_are_sure = if placed.solids.is_empty() && !checker.has(&list) {
            if is_told {
                let message = "expected `template` or `solids`, found neither";
                checker.refuse(place, message, "name a component of the catalog, or describe the body");
            }
            false
        } else {
            check_solids(&placed.solids, &list, checker)
        };
        let ports = check_ports(&placed.ports, &place.field("ports"), checker);
        // With no solids and no ports, it is the template that is missing, and with it the ports.
        let names_are_sure = ports.names_are_sure && is_told && !(placed.solids.is_empty() && placed.ports.is_empty());
        let known = names_are_sure.then_some(placed.ports.as_slice());
        check_own_flow(placed, known, place, checker);
        let wetted = Wetted::new(placed.flow.clone(), None, &placed.ports, None, placed);
        let mut model = Model::of_parts(&placed.solids, &placed.ports, wetted);
        (model.names_are_sure, model.solids_are_sure) = (names_are_sure, solids_are_sure);
        for (port, is_placed) in model.ports.iter_mut().zip(ports.placed) {
            port.is_placed = is_placed;
        }
        return Some(model);
    };
    let template_is_sure = !checker.is_doubtful(&place.field("template"));
    for (field, given) in [("solids", !placed.solids.is_empty()), ("ports", !placed.ports.is_empty())] {
        if given && template_is_sure {
            let message = format!("expected either `template` or `{field}`, found both");
            checker.refuse(&place.field(field), message, "a template brings its own solids and ports");
        }
    }
    if let Some(component) = catalog.component(template) {
        check_own_flow(placed, placed.ports.is_empty().then_some(component.ports.as_slice()), place, checker);
        let flow = placed.flow.clone().or_else(|| component.flow.clone());
        let wetted = Wetted::new(flow, component.heat.clone(), &component.ports, None, placed);
        let mut model = Model::of_parts(&component.solids, &component.ports, wetted);
        // Where the file gives ports as well, those may be the ones that are meant.
        model.names_are_sure = placed.ports.is_empty();
        return Some(model);
    }
    if let Some(fitting) = catalog.fitting(template) {
        if placed.flow.is_some() {
            let message = "expected no `flow` for a fitting that is placed like a component";
            checker.refuse(&place.field("flow"), message, "its loss follows from its bore and its turns");
        }
        let wetted = Wetted::new(None, None, &[], Some(fitting.id.clone()), placed);
        return Some(Model::of_fitting(fitting, wetted));
    }
    check_own_flow(placed, None, place, checker);
    if checker.is_full() {
        return None;
    }
    let help = match nearest(template, catalog.ids()) {
        Some(near) => format!("did you mean `{near}`?"),
        None => "list the catalog to see what there is, or add a catalog of your own".to_owned(),
    };
    checker.refuse(&place.field("template"), format!("unknown template `{}`", brief(template)), help);
    None
}

fn check_own_flow(placed: &PlacedDef, ports: Option<&[PortDef]>, place: &Place<'_>, checker: &mut Checker<'_>) {
    if let Some(flow) = &placed.flow {
        check_flow(flow, ports, &place.field("flow"), checker);
    }
}

/// The frame of a port in its component's frame: `x` towards its mark.
fn marked(port: &PortDef) -> Pose {
    let pose = facing(Point::from(port.at), port.facing.direction());
    let Some(mark) = &port.mark else { return pose };
    let seen = pose.rotation.inverse() * mark.direction().into_inner();
    pose * turned(seen.y.atan2(seen.x))
}

impl Model {
    fn of_parts(solids: &[SolidDef], ports: &[PortDef], wetted: Wetted) -> Self {
        let solid = |solid: &SolidDef| (solid.shape.clone(), facing(Point::from(solid.at), solid.facing.direction()));
        let port = |port: &PortDef| ModelPort {
            name: port.name.clone(),
            pose: marked(port),
            thread: port.thread,
            gender: port.gender,
            thread_length_mm: port.thread_length_mm,
            seat_mm: port.seat_mm,
            stand_off_mm: port.stand_off_mm,
            is_placed: true,
        };
        Self {
            solids: solids.iter().map(solid).collect(),
            ports: ports.iter().map(port).collect(),
            wetted,
            names_are_sure: true,
            solids_are_sure: true,
        }
    }

    /// A fitting placed like a component, drawn in if it is adjustable. Its ends are its ports; a collar seats on a
    /// face as wide as the end's own collar.
    fn of_fitting(fitting: &FittingDef, wetted: Wetted) -> Self {
        let solids = fitting.body(0.0).into_iter().map(|solid| (solid.shape, solid.pose)).collect();
        let names = (0..).map(|index| match index {
            2 => "branch".to_owned(),
            index => format!("end-{index}"),
        });
        let ports = names
            .zip(fitting.end_frames(0.0))
            .zip(&fitting.ends)
            .map(|((name, pose), end)| ModelPort {
                name,
                pose,
                thread: end.thread,
                gender: end.gender,
                thread_length_mm: end.thread_length_mm,
                seat_mm: end.collar_mm,
                stand_off_mm: 0.0,
                is_placed: true,
            })
            .collect();
        Self { solids, ports, wetted, names_are_sure: true, solids_are_sure: true }
    }
}
