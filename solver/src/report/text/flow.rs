//! The flow report for people.

use super::{
    WIDTH,
    number::{fixed, plural},
    table::{Align, table, wrapped},
};
use crate::{
    circuit::Operating,
    hydraulics::network::{BoreFlow, Finding, FlowBand, PartOutcome},
    report::{CircuitReport, FlowReport, JointState},
};
use std::fmt::Write as _;

/// Changes that bring less than this, in L/min, are no news.
const LEAST_GAIN_L_MIN: f64 = 0.005;

/// The operating point of each circuit and where its pressure goes; of two circuits, both side by side first.
#[must_use]
pub fn flow(report: &FlowReport) -> String {
    let circuits: Vec<String> = report.circuits.iter().map(circuit).collect();
    match report.circuits.as_slice() {
        [a, b] => format!("{}\n{}", compared(a, b), circuits.join("\n")),
        _ => circuits.join("\n"),
    }
}

fn circuit(report: &CircuitReport) -> String {
    let mut out = String::new();
    let heading = format!("{}: {}, {}", report.layout, plural(report.joints.len(), "gap"), report.coolant);
    out.push_str(&wrapped(&heading, WIDTH, 0, 2));
    section(&mut out, "Joints", &joints(report));
    let Some(operating) = &report.operating else {
        out.push_str(&open(report));
        return out;
    };
    out.push_str(&settled(report, operating));
    section(&mut out, "Branches", &branches(operating));
    section(&mut out, "Losses, the largest share first", &losses(operating));
    section(&mut out, "Velocities, the fastest first", &velocities(operating));
    section(&mut out, &from_where(report), &pressures(operating));
    section(&mut out, "What would bring more flow", &changes(operating));
    section(&mut out, "Findings", &findings(report, operating));
    out
}

fn section(out: &mut String, heading: &str, body: &str) {
    if !body.is_empty() {
        let _ = write!(out, "\n{heading}:\n{body}");
    }
}

fn joints(report: &CircuitReport) -> String {
    let heads = [("gap", Align::Right), ("from", Align::Left), ("to", Align::Left), ("joined by", Align::Left)];
    let row = |(index, joint): (usize, &crate::report::JointReport)| {
        let by = match joint.state {
            JointState::Bridged => plural(joint.fittings.len(), "part"),
            JointState::Open => format!("nothing: proven up to {}", plural(report.max_parts, "part")),
            JointState::NotFound => "nothing found, without proof".to_owned(),
        };
        let by = if report.assumes_joined && joint.state != JointState::Bridged {
            format!("{by}; assumed joined without loss")
        } else {
            by
        };
        vec![(index + 1).to_string(), joint.from.clone(), joint.to.clone(), by]
    };
    let rows = report.joints.iter().enumerate().map(row).collect();
    let text = format!("chains are the best that `bridge` finds at {} L/min", fixed(report.chosen_at_l_min, 1));
    table(2, &heads, rows) + &wrapped(&text, WIDTH, 2, 2)
}

fn open(report: &CircuitReport) -> String {
    let gaps: Vec<String> =
        report.open().map(|(index, joint)| format!("gap {} ({} to {})", index + 1, joint.from, joint.to)).collect();
    let text = format!(
        "The circuit is open, so nothing flows: {} not bridged. `elbowroom bridge` says why; --assume-joined solves \
         the rest as if such gaps were joined without loss.",
        match gaps.as_slice() {
            [one] => format!("{one} is"),
            _ => format!("{} are", gaps.join(", ")),
        }
    );
    format!("\n{}", wrapped(&text, WIDTH, 0, 2))
}

fn settled(report: &CircuitReport, operating: &Operating) -> String {
    let mut out = format!("\nOperating point: {}\n", band(&operating.flow));
    for pump in &operating.outcome.pumps {
        let name = operating.outcome.parts.get(pump.part).map_or("", |part| part.name.as_str());
        let text = format!(
            "{name} gains {} kPa at {} L/min; {} kPa at no flow, its curve ends at {} L/min",
            kpa(pump.gain_pa),
            l_min(pump.flow_m3_s),
            kpa(pump.shut_off_pa),
            l_min(pump.last_flow_m3_s)
        );
        out.push_str(&wrapped(&text, WIDTH, 2, 4));
    }
    let margin = &operating.margin;
    let enough = if margin.factor() >= 1.0 { "enough" } else { "not enough" };
    let text = format!(
        "for the design flow of {} L/min the circuit needs {} kPa and {} gains {}: {enough}, {} times what is needed",
        report.design_flow_l_min,
        kpa(margin.needed_pa),
        operating.pump,
        kpa(margin.gain_pa),
        fixed(margin.factor(), 2)
    );
    out.push_str(&wrapped(&text, WIDTH, 2, 4));
    if let Some(rise) = operating.rise_k {
        let hot = operating.outcome.parts.iter().filter_map(|part| Some((part, part.temperature_rise_k?)));
        let each: Vec<String> = hot.map(|(part, rise)| format!("{} {} K", part.name, fixed(rise, 2))).collect();
        let text = format!("{} W warm it by {} K on the way: {}", report.heat_w, fixed(rise, 2), each.join(", "));
        out.push_str(&wrapped(&text, WIDTH, 2, 4));
    }
    let residuals = &operating.outcome.residuals;
    let text = format!(
        "closes to {:.0e} Pa around every loop and {:.0e} m³/s at every port, in {}",
        residuals.loop_pa,
        residuals.mass_m3_s,
        plural(residuals.steps, "step")
    );
    out.push_str(&wrapped(&text, WIDTH, 2, 4));
    let text = "the bounds take all doubts about losses at their worst at once; tables and pump curves count as exact";
    out.push_str(&wrapped(text, WIDTH, 2, 4));
    out
}

/// Nothing to say where all parts are in one branch.
fn branches(operating: &Operating) -> String {
    let branches = &operating.outcome.branches;
    if branches.len() < 2 {
        return String::new();
    }
    let name = |part: usize| operating.outcome.parts.get(part).map_or("", |part| part.name.as_str());
    let lines = branches.iter().map(|branch| {
        let band = branch.parts.first().and_then(|&part| operating.bands.get(part)).map(band).unwrap_or_default();
        let parts: Vec<&str> = branch.parts.iter().map(|&part| name(part)).collect();
        let text = format!("{band}, loses {} kPa: {}", kpa(branch.loss_pa), parts.join(", "));
        wrapped(&text, WIDTH, 2, 4)
    });
    lines.collect()
}

fn losses(operating: &Operating) -> String {
    let heads = [
        ("part", Align::Left),
        ("share %", Align::Right),
        ("loss kPa", Align::Right),
        ("least", Align::Right),
        ("most", Align::Right),
        ("costs L/min", Align::Right),
    ];
    let row = |part: &PartOutcome| {
        let relief = operating.reliefs.iter().find(|relief| relief.name == part.name);
        vec![
            part.name.clone(),
            fixed(part.share * 100.0, 1),
            kpa(part.loss_pa),
            kpa(part.loss_between_pa.0),
            kpa(part.loss_between_pa.1),
            relief.map_or_else(|| "-".to_owned(), |relief| l_min(relief.gain_m3_s)),
        ]
    };
    let by_share = operating.outcome.by_share();
    let parts: Vec<&PartOutcome> = by_share.iter().filter_map(|&part| operating.outcome.parts.get(part)).collect();
    let text = "`3.2` is the second part in gap 3. A part costs the flow that would be gained if it lost nothing.";
    let lossy = |part: &&&PartOutcome| part.loss_pa != 0.0;
    table(2, &heads, parts.iter().filter(lossy).map(|part| row(part)).collect()) + &wrapped(text, WIDTH, 2, 2)
}

/// One line for each bore and velocity, with the parts that have it.
fn velocities(operating: &Operating) -> String {
    let too_fast = |name: &str, bore: &BoreFlow| {
        operating.outcome.findings.iter().find_map(|finding| match finding {
            Finding::TooFast { part, bore_m, wall, .. } if part == name && *bore_m == bore.bore_m => {
                Some(format!(" TOO FAST, commonly kept to {} m/s in {wall},", fixed(wall.common_limit_m_s(), 1)))
            }
            _ => None,
        })
    };
    let parts = operating.outcome.parts.iter();
    let mut bores: Vec<(&str, &BoreFlow)> =
        parts.flat_map(|part| part.bores.iter().map(|bore| (part.name.as_str(), bore))).collect();
    bores.sort_by(|a, b| b.1.velocity_m_s.total_cmp(&a.1.velocity_m_s));
    let mut lines: Vec<(String, Vec<&str>)> = Vec::new();
    for (name, bore) in bores {
        let line = format!(
            "{} m/s in a bore of {} mm,{} Reynolds number {}, {}:",
            fixed(bore.velocity_m_s, 2),
            fixed(bore.bore_m * 1e3, 1),
            too_fast(name, bore).unwrap_or_default(),
            fixed(bore.reynolds, 0),
            bore.regime
        );
        // Parts of chains are told by their numbers, which the losses spell out.
        let short = name.split(' ').next().filter(|start| start.contains('.')).unwrap_or(name);
        match lines.iter_mut().find(|(other, _)| *other == line) {
            Some((_, names)) => names.push(short),
            None => lines.push((line, vec![short])),
        }
    }
    lines.iter().map(|(line, names)| wrapped(&format!("{line} {}", names.join(", ")), WIDTH, 2, 4)).collect()
}

fn from_where(report: &CircuitReport) -> String {
    match &report.reservoir {
        Some(name) => {
            format!("Pressures, along the circuit, above the air in {name} (filled to its highest port here)")
        }
        None => "Pressures, along the circuit, above that where the pump draws: no reservoir is stated".to_owned(),
    }
}

fn pressures(operating: &Operating) -> String {
    let heads = [("port", Align::Left), ("total kPa", Align::Right), ("at wall", Align::Right), ("", Align::Left)];
    let low = |name: &str| {
        operating.outcome.findings.iter().any(|finding| match finding {
            Finding::BelowAtmosphere { nodes } => nodes.iter().any(|(node, _)| node == name),
            _ => false,
        })
    };
    let row = |node: &crate::hydraulics::network::NodeOutcome| {
        let flag = if low(&node.name) { "suction: may draw in air" } else { "" };
        vec![node.name.clone(), kpa(node.gauge_pa), kpa(node.wall_pa), flag.to_owned()]
    };
    table(2, &heads, operating.outcome.nodes.iter().map(row).collect())
}

fn changes(operating: &Operating) -> String {
    let gain = |flow_m3_s: f64| flow_m3_s * 60_000.0;
    let worth = operating.trials.iter().filter(|trial| gain(trial.gain_m3_s) >= LEAST_GAIN_L_MIN);
    worth.map(|trial| wrapped(&format!("+{} L/min: {}", l_min(trial.gain_m3_s), trial.what), WIDTH, 2, 4)).collect()
}

fn findings(report: &CircuitReport, operating: &Operating) -> String {
    let mut texts: Vec<String> = Vec::new();
    if report.assumes_joined {
        let gaps: Vec<String> = report.open().map(|(index, _)| (index + 1).to_string()).collect();
        texts.push(format!(
            "assumed: gap {} joined without loss, though nothing bridges it; the real flow will be less",
            gaps.join(", ")
        ));
    }
    if !report.unstated.is_empty() {
        texts.push(format!(
            "taken to lose nothing, because the layout states no `flow` for them: {}",
            report.unstated.join(", ")
        ));
    }
    // Fast bores and suction are flagged in their tables.
    let told = |finding: &&Finding| !matches!(finding, Finding::TooFast { .. } | Finding::BelowAtmosphere { .. });
    texts.extend(operating.outcome.findings.iter().filter(told).map(ToString::to_string));
    texts.iter().map(|text| wrapped(&format!("- {text}"), WIDTH, 2, 4)).collect()
}

fn compared(a: &CircuitReport, b: &CircuitReport) -> String {
    let heads = [("", Align::Left), ("first", Align::Right), ("second", Align::Right), ("change", Align::Right)];
    let mut rows = Vec::new();
    let mut row = |what: &str, decimals: usize, of: &dyn Fn(&CircuitReport) -> Option<f64>| {
        let text = |value: Option<f64>| value.map_or_else(|| "-".to_owned(), |value| fixed(value, decimals));
        let change = of(a).zip(of(b)).map_or_else(
            || "-".to_owned(),
            |(a, b)| {
                let change = fixed(b - a, decimals);
                if change.starts_with('-') { change } else { format!("+{change}") }
            },
        );
        rows.push(vec![what.to_owned(), text(of(a)), text(of(b)), change]);
    };
    let at = |report: &CircuitReport, of: fn(&Operating) -> f64| report.operating.as_ref().map(of);
    row("flow L/min", 2, &|report| at(report, |it| it.flow.likely_m3_s * 60_000.0));
    row("  at least", 2, &|report| at(report, |it| it.flow.low_m3_s * 60_000.0));
    row("  at most", 2, &|report| at(report, |it| it.flow.high_m3_s * 60_000.0));
    row("pressure of the first pump kPa", 2, &|report| {
        at(report, |it| it.outcome.pumps.first().map_or(0.0, |pump| pump.gain_pa / 1e3))
    });
    row("times what the design flow needs", 2, &|report| at(report, |it| it.margin.factor()));
    row("heat W", 0, &|report| report.operating.as_ref().map(|_| report.heat_w));
    row("warms by K", 2, &|report| report.operating.as_ref().and_then(|it| it.rise_k));
    row("lowest pressure at a wall kPa", 2, &|report| {
        at(report, |it| it.outcome.nodes.iter().map(|node| node.wall_pa / 1e3).fold(f64::INFINITY, f64::min))
    });
    row("gaps not bridged", 0, &|report| Some(f64::from(u32::try_from(report.open().count()).unwrap_or(u32::MAX))));
    let names = format!("Side by side: first {}, second {}", a.layout, b.layout);
    wrapped(&names, WIDTH, 0, 2) + &table(2, &heads, rows)
}

fn band(flow: &FlowBand) -> String {
    format!("{} L/min, between {} and {}", l_min(flow.likely_m3_s), l_min(flow.low_m3_s), l_min(flow.high_m3_s))
}

fn l_min(flow_m3_s: f64) -> String {
    fixed(flow_m3_s * 60_000.0, 2)
}

fn kpa(pressure_pa: f64) -> String {
    fixed(pressure_pa / 1e3, 2)
}
