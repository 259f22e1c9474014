//! What makes the flow data of a component valid, in the units of the file.

use super::coolant::check_coolant;
use super::flow::{FlowDef, LossDef, PumpDef};
use super::part::PortDef;
use crate::hydraulics::{Coefficient, ComponentError, LossTable, Pump, PumpError};
use crate::source::{Checker, Place, brief, nearest, number, one_of};

/// One L/min in m³/s.
const M3_S: f64 = 1.0 / 60_000.0;
/// One kPa in Pa.
const PA: f64 = 1000.0;
/// Largest flow in L/min and pressure in kPa that a file may state: far beyond what such threads carry.
const MOST: [f64; 2] = [1000.0, 10_000.0];
/// Least flow in L/min and pressure in kPa above none.
const LEAST: [f64; 2] = [0.001, 0.001];
/// Narrowest and widest bore in mm.
const BORES_MM: [f64; 2] = [0.5, 100.0];
/// Most that a measurement may be off: beyond, it is none.
const MOST_DOUBT_PERCENT: f64 = 50.0;
/// Most points of a table.
const MOST_POINTS: usize = 1000;

/// Checks the flow data of a component with these ports; `None` if it is not known what they are.
pub(crate) fn check_flow(flow: &FlowDef, ports: Option<&[PortDef]>, place: &Place<'_>, checker: &mut Checker<'_>) {
    check_passages(flow, ports, place, checker);
    if let Some(bore) = flow.bore_mm {
        checker.within(&place.field("bore_mm"), bore, "a bore in mm", BORES_MM[0], BORES_MM[1]);
    }
    if let Some(percent) = flow.within_percent {
        checker.within(&place.field("within_percent"), percent, "a share in percent", 0.0, MOST_DOUBT_PERCENT);
    }
    if let Some(measured_with) = flow.measured_with {
        check_coolant(measured_with, &place.field("measured_with"), checker);
    }
    if let Some(loss) = &flow.loss {
        check_loss(loss, &place.field("loss"), checker);
    }
    if let Some(pump) = &flow.pump {
        check_pump(pump, &place.field("pump"), checker);
    }
    // How many ways there are is not known if they, or the ports that they lead between, are not.
    let ways =
        ports.filter(|_| !checker.is_doubtful(&place.field("passages"))).map(|ports| passages(flow, ports).len());
    if checker.is_doubtful(&place.field("reservoir")) {
        return;
    }
    if flow.reservoir {
        for (field, given) in
            [("pump", flow.pump.is_some()), ("loss", flow.loss.is_some()), ("passages", !flow.passages.is_empty())]
        {
            if given {
                let message = format!("expected either `reservoir` or `{field}`, found both");
                let help = "describe a pump with a reservoir on it as two components";
                checker.refuse(&place.field(field), message, help);
            }
        }
    } else if let Some(ways) = ways.filter(|ways| flow.pump.is_some() && *ways != 1) {
        let message = format!("expected one way through a pump, found {ways}");
        checker.refuse(&place.field("pump"), message, "give `passages: [(\"inlet\", \"outlet\")]` with its own ports");
    } else if flow.loss.is_some() && flow.pump.is_none() && ways == Some(0) {
        let help = "give `passages: [(\"in\", \"out\")]` with its own ports";
        checker.refuse(&place.field("loss"), "expected a way through, found none", help);
    }
}

/// The ways through: those stated, or else from `inlet` to `outlet` where there are such ports.
pub(crate) fn passages(flow: &FlowDef, ports: &[PortDef]) -> Vec<[String; 2]> {
    let default = ["inlet", "outlet"];
    let has = |name: &str| ports.iter().any(|port| port.name == name);
    if flow.reservoir || !flow.passages.is_empty() {
        flow.passages.clone()
    } else if default.into_iter().all(has) {
        vec![default.map(str::to_owned)]
    } else {
        Vec::new()
    }
}

/// The loss as an element of a circuit.
///
/// # Errors
/// What is wrong with its numbers; never for one that was checked.
pub(crate) fn loss_table(points: &[[f64; 2]]) -> Result<LossTable, ComponentError> {
    LossTable::new(&points.iter().map(|[flow, kpa]| (flow * M3_S, kpa * PA)).collect::<Vec<_>>())
}

/// The loss as an element of a circuit.
///
/// # Errors
/// As [`loss_table`].
pub(crate) fn coefficient(l_min: f64, kpa: f64, power: f64) -> Result<Coefficient, ComponentError> {
    Coefficient::power(l_min * M3_S, kpa * PA, power)
}

/// The pump at full speed.
///
/// # Errors
/// As [`loss_table`].
pub(crate) fn pump(def: &PumpDef) -> Result<Pump, PumpError> {
    let point = |[flow, kpa]: [f64; 2]| (flow * M3_S, kpa * PA);
    match def {
        PumpDef::Table(points) => Pump::table(&points.iter().copied().map(point).collect::<Vec<_>>()),
        PumpDef::ThreePoints(points) => match <[[f64; 2]; 3]>::try_from(points.as_slice()) {
            Ok(points) => Pump::three_points(points.map(point)),
            // Refused where it was read; as a table it is not wrong either.
            Err(_) => Pump::table(&points.iter().copied().map(point).collect::<Vec<_>>()),
        },
    }
}

fn check_passages(flow: &FlowDef, ports: Option<&[PortDef]>, place: &Place<'_>, checker: &mut Checker<'_>) {
    let list = place.field("passages");
    for (index, [from, to]) in flow.passages.iter().enumerate() {
        let here = list.index(index);
        for (end, name) in [from, to].into_iter().enumerate() {
            let Some(ports) = ports.filter(|ports| !ports.iter().any(|port| port.name == *name)) else { continue };
            let known = || ports.iter().map(|port| port.name.as_str());
            let hint = match nearest(name, known()) {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("the component has {}", one_of(known())),
            };
            checker.refuse(&here.index(end), format!("unknown port `{}`", brief(name)), hint);
        }
        if from == to && checker.is_sure(&here) {
            let message = format!("expected a way between two ports, found `{}` twice", brief(to));
            checker.refuse(&here, message, "name the port where the coolant leaves");
        }
    }
}

fn check_loss(loss: &LossDef, place: &Place<'_>, checker: &mut Checker<'_>) {
    let before = checker.count();
    let refused = match loss {
        LossDef::Table(points) => {
            let place = place.field("table");
            check_points(points, LEAST, 1.0, &place, checker);
            loss_table(points).err()
        }
        LossDef::Coefficient { l_min, kpa, power } => {
            let place = place.field("coefficient");
            checker.within(&place.field("l_min"), *l_min, "a flow in L/min", LEAST[0], MOST[0]);
            checker.within(&place.field("kpa"), *kpa, "a loss in kPa", LEAST[1], MOST[1]);
            checker.within(&place.field("power"), *power, "a power of the flow", 1.0, 2.0);
            coefficient(*l_min, *kpa, *power).err()
        }
    };
    if let Some(error) = refused.filter(|_| checker.count() == before && checker.is_sure(place)) {
        checker.refuse(place, error.to_string(), "correct the numbers");
    }
}

fn check_pump(def: &PumpDef, place: &Place<'_>, checker: &mut Checker<'_>) {
    let before = checker.count();
    let (field, points) = match def {
        PumpDef::Table(points) => ("table", points.as_slice()),
        PumpDef::ThreePoints(points) => ("three_points", points.as_slice()),
    };
    let list = place.field(field);
    check_points(points, [0.0, 0.0], -1.0, &list, checker);
    if matches!(def, PumpDef::ThreePoints(points) if !points.is_empty() && points.len() != 3) {
        let message = format!("expected three points of (L/min, kPa), found {}", points.len());
        checker.refuse(&list, message, "use `table` for fewer or more");
    }
    if let Some([first, _]) = points.first()
        && (LEAST[0]..=MOST[0]).contains(first)
    {
        let message = format!("expected the first point of a pump at no flow, found {} L/min", number(*first));
        checker.refuse(&list.index(0).index(0), message, "add the pressure that it gains against a closed valve");
    }
    if let Some(error) = pump(def).err().filter(|_| checker.count() == before && checker.is_sure(place)) {
        checker.refuse(place, error.to_string(), "give a curve that falls from some pressure at no flow");
    }
}

/// Points in order of flow, their pressures growing (`trend` 1) or falling (-1).
fn check_points(points: &[[f64; 2]], least: [f64; 2], trend: f64, place: &Place<'_>, checker: &mut Checker<'_>) {
    if points.is_empty() || points.len() > MOST_POINTS {
        let message = format!("expected 1 to {MOST_POINTS} points of (L/min, kPa), found {}", points.len());
        checker.refuse(place, message, "measure at a few flows, or take them from the maker's curve");
        return;
    }
    // The point before, as far as its numbers are good.
    let (mut flow_before, mut kpa_before) = (None, None);
    for (index, [flow, kpa]) in points.iter().enumerate() {
        let here = place.index(index);
        let flow = checker.within(&here.index(0), *flow, "a flow in L/min", least[0], MOST[0]).then_some(*flow);
        let kpa = checker.within(&here.index(1), *kpa, "a pressure in kPa", least[1], MOST[1]).then_some(*kpa);
        let before = (flow_before, kpa_before);
        (flow_before, kpa_before) = (flow, kpa);
        if let (Some(flow_before), Some(flow)) = (before.0, flow)
            && flow <= flow_before
        {
            let message = format!("expected a flow above the one before ({flow_before} L/min), found {flow}");
            checker.refuse(&here.index(0), message, "list the points from small flow to large, each (L/min, kPa)");
        }
        if let (Some(kpa_before), Some(kpa)) = (before.1, kpa)
            && (kpa - kpa_before) * trend < 0.0
        {
            let (wanted, law) = if trend > 0.0 {
                ("a loss of at least", "a part loses more the more flows")
            } else {
                ("a pressure of at most", "a pump gains less the more flows")
            };
            let message = format!("expected {wanted} the one before ({kpa_before} kPa), found {kpa}");
            checker.refuse(&here.index(1), message, format!("{law}; is each point written (L/min, kPa)?"));
        }
    }
}
