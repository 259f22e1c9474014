//! The flow report for people.

use super::{
    WIDTH,
    bridge::overlapping,
    heat,
    number::{fixed, plural},
    table::{Align, table, wrapped},
};
use crate::{
    circuit::{Heat, Operating},
    hydraulics::{
        Wall,
        network::{BoreFlow, ClosePair, Finding, FlowBand, NodeOutcome, PartOutcome},
    },
    report::{CircuitReport, FlowReport, JointState, words::joined},
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
    // Where temperatures are worked out, the stated one is only where they start.
    let warms = report.operating.as_ref().is_some_and(|operating| matches!(operating.heat, Some(Heat::Steady(_))));
    let filled = if warms { " when filled" } else { "" };
    let heading = format!("{}: {}, {}{filled}", report.layout, plural(report.joints.len(), "gap"), report.coolant);
    let mut out = wrapped(&heading, WIDTH, 0, 2);
    out.push_str(&assumed(report));
    let Some(operating) = &report.operating else {
        out.push_str(&open(report));
        section(&mut out, "Joints", &joints(report));
        return out;
    };
    out.push_str(&settled(report, operating));
    section(&mut out, "Warnings", &findings(report, operating));
    section(&mut out, "Joints", &joints(report));
    section(&mut out, "Branches, the largest flow first", &branches(operating));
    if let Some(heat) = &operating.heat {
        let (heading, body) = heat::section(heat);
        section(&mut out, &heading, &body);
    }
    section(&mut out, "Losses, the largest share first", &losses(operating));
    section(&mut out, "What would bring more flow", &changes(operating));
    section(&mut out, "Velocities, the fastest first", &velocities(operating));
    section(&mut out, &from_where(report), &pressures(operating));
    section(&mut out, "How exact this is", &exactness(operating));
    out
}

/// What has to be known before any figure: that the layout does not fit by itself, and which joints are not there.
fn assumed(report: &CircuitReport) -> String {
    let mut out = overlapping(&report.overlaps).map(|text| wrapped(&text, WIDTH, 0, 2)).unwrap_or_default();
    if report.assumes_joined {
        let gaps: Vec<String> = report.open().map(|(index, _)| (index + 1).to_string()).collect();
        let gaps =
            if gaps.len() == 1 { format!("gap {} is", gaps.concat()) } else { format!("gaps {} are", joined(&gaps)) };
        let text = format!(
            "Assumed: {gaps} joined without loss, though nothing bridges {}; the real flow will be less.",
            if gaps.ends_with(" is") { "it" } else { "them" }
        );
        out.push_str(&wrapped(&text, WIDTH, 0, 2));
    }
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
    let mut out = wrapped(&format!("Operating point: {}", band(&operating.flow)), WIDTH, 0, 2);
    out.insert(0, '\n');
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
    let spare_pa = margin.gain_pa - margin.needed_pa;
    let text = format!(
        "pump margin at the design flow of {} L/min{}: {} gains {} kPa there and the circuit needs {}, so {} kPa {}",
        report.design_flow_l_min,
        share_of_design(report, operating),
        operating.pump,
        kpa(margin.gain_pa),
        kpa(margin.needed_pa),
        kpa(spare_pa.abs()),
        if spare_pa < 0.0 { "are missing" } else { "are left" },
    );
    out.push_str(&wrapped(&text, WIDTH, 2, 4));
    if let Some(rise) = operating.rise_k {
        let hot = operating.outcome.parts.iter().filter_map(|part| Some((part, part.temperature_rise_k?)));
        let each: Vec<String> = hot.map(|(part, rise)| format!("{} {} K", part.name, fixed(rise, 2))).collect();
        let each = if each.len() > 1 { format!(": {}", each.join(", ")) } else { String::new() };
        let text = format!("{} W warm the coolant by {} K on its way round{each}", report.heat_w, fixed(rise, 2));
        out.push_str(&wrapped(&text, WIDTH, 2, 4));
    }
    out
}

/// What a pump that stands beside others has to move.
fn share_of_design(report: &CircuitReport, operating: &Operating) -> String {
    let own = l_min(operating.margin.flow_m3_s);
    if own == fixed(report.design_flow_l_min, 2) { String::new() } else { format!(", of which {own} are its share") }
}

fn exactness(operating: &Operating) -> String {
    let residuals = &operating.outcome.residuals;
    let left = |value: f64| if value == 0.0 { "0".to_owned() } else { format!("{value:.0e}") };
    let text = format!(
        "residuals: {} Pa around the worst loop, {} m³/s at the worst port, after {}",
        left(residuals.loop_pa),
        left(residuals.mass_m3_s),
        plural(residuals.steps, "Newton step")
    );
    let bounds = "worst case: every doubt at its worst at once, about formulas, each leg of a tee, close bends, tables and \
                  pump curves; combined: root of the squares of what each doubt changes, which holds 95 % if the doubts are \
                  two standard deviations of normal errors";
    let practice = "none of the formulas for fittings was fitted to bores this small: measure flow and temperatures \
                    before the machine relies on them";
    [&text, bounds, practice].map(|text| wrapped(text, WIDTH, 2, 4)).concat()
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
        let parts: Vec<&str> = branch.parts.iter().map(|&part| short(name(part))).collect();
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
        let along = if part.flow_m3_s < 0.0 { -part.loss_pa } else { part.loss_pa };
        let relief = operating.reliefs.iter().find(|relief| relief.name == part.name);
        vec![
            part.name.clone(),
            fixed(part.share * 100.0, 1),
            kpa(along),
            kpa(part.loss_between_pa.0),
            kpa(part.loss_between_pa.1),
            relief.map_or_else(|| "-".to_owned(), |relief| l_min(relief.gain_m3_s)),
        ]
    };
    let by_share = operating.outcome.by_share();
    let parts: Vec<&PartOutcome> = by_share.iter().filter_map(|&part| operating.outcome.parts.get(part)).collect();
    let text = "`3.2` is the second part in gap 3. A part costs the flow that would be gained if it lost nothing.";
    let drawn = parts.iter().any(|part| part.loss_pa * part.flow_m3_s < 0.0);
    let drawn = if drawn { " A leg of a tee with a loss below 0 is drawn along by the flow it joins." } else { "" };
    let lossy = |part: &&&PartOutcome| part.loss_pa != 0.0;
    let rows = parts.iter().filter(lossy).map(|part| row(part)).collect();
    table(2, &heads, rows) + &wrapped(&format!("{text}{drawn}"), WIDTH, 2, 2)
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
        match lines.iter_mut().find(|(other, _)| *other == line) {
            Some((_, names)) => names.push(short(name)),
            None => lines.push((line, vec![short(name)])),
        }
    }
    lines.iter().map(|(line, names)| wrapped(&format!("{line} {}", names.join(", ")), WIDTH, 2, 4)).collect()
}

fn from_where(report: &CircuitReport) -> String {
    match &report.reservoir {
        Some(name) => {
            let filled = if report.level_is_stated { "filled to its mark" } else { "as if filled to its highest port" };
            format!("Pressures along the circuit, above the air in {name} ({filled})")
        }
        None => "Pressures along the circuit, above that where the pump draws".to_owned(),
    }
}

fn pressures(operating: &Operating) -> String {
    let heads = [("port", Align::Left), ("total kPa", Align::Right), ("gauge kPa", Align::Right), ("", Align::Left)];
    let low = |name: &str| {
        operating.outcome.findings.iter().any(|finding| match finding {
            Finding::BelowAtmosphere { nodes } => nodes.iter().any(|(node, _)| node == name),
            _ => false,
        })
    };
    let row = |node: &NodeOutcome| {
        let flag = if low(&node.name) { "suction: may draw in air" } else { "" };
        vec![node.name.clone(), kpa(node.total_pa), kpa(node.reading_pa), flag.to_owned()]
    };
    let nodes = &operating.outcome.nodes;
    let inside = nodes.iter().any(|node| node.name.starts_with("after "));
    let text = if inside { "`after 3.1` is the joint behind the first part in gap 3. " } else { "" };
    let text = format!("{text}A gauge reads the total less the dynamic pressure.");
    table(2, &heads, nodes.iter().map(row).collect()) + &wrapped(&text, WIDTH, 2, 2)
}

/// From so many times the design flow on a pump is larger than it needs to be.
const TOO_MUCH: f64 = 1.5;

/// That far more flows than is wanted, and what would do.
fn too_much(report: &CircuitReport, operating: &Operating) -> Option<String> {
    let times = operating.flow.likely_m3_s * 60_000.0 / report.design_flow_l_min;
    (times >= TOO_MUCH).then(|| {
        format!(
            "{} times the design flow comes round: a smaller pump would do, or this one at about {} of its speed \
             (`pump_speed`), since the flow goes about with the speed",
            fixed(times, 1),
            fixed(1.0 / times, 2)
        )
    })
}

fn changes(operating: &Operating) -> String {
    let gain = |flow_m3_s: f64| flow_m3_s * 60_000.0;
    let worth = operating.trials.iter().filter(|trial| gain(trial.gain_m3_s) >= LEAST_GAIN_L_MIN);
    let lines: Vec<String> = worth
        .map(|trial| wrapped(&format!("+{} L/min: {}", l_min(trial.gain_m3_s), trial.what), WIDTH, 2, 4))
        .collect();
    if lines.is_empty() {
        return String::new();
    }
    let note = lines.iter().any(|line| line.contains("swept")).then(|| {
        let text = "Swept ones are taken to be as long and as wide; whether there are such parts, and whether they fit, \
                    `bridge` says.";
        wrapped(text, WIDTH, 2, 2)
    });
    lines.concat() + &note.unwrap_or_default()
}

fn findings(report: &CircuitReport, operating: &Operating) -> String {
    let mut texts: Vec<String> = Vec::new();
    if !report.unstated.is_empty() {
        texts.push(format!(
            "taken to lose nothing, because the layout states no `flow` for them: {}",
            report.unstated.join(", ")
        ));
    }
    if report.reservoir.is_none() {
        let text = "no reservoir in the circuit: how its pressures stand to the atmosphere, and whether air can be drawn in, \
                    is not known";
        texts.push(text.to_owned());
    }
    texts.extend(operating.heat.iter().flat_map(heat::warnings));
    texts.extend(report.unmet_design());
    texts.extend(too_much(report, operating));
    texts.extend(too_fast(&operating.outcome.findings));
    let told = |finding: &Finding| match finding {
        Finding::TooFast { .. } => None,
        Finding::BelowAtmosphere { nodes } => Some(suction(nodes)),
        Finding::CloseBends { pairs } => Some(close_bends(pairs)),
        other => Some(other.to_string()),
    };
    texts.extend(operating.outcome.findings.iter().filter_map(told));
    texts.iter().map(|text| wrapped(&format!("- {text}"), WIDTH, 2, 4)).collect()
}

/// One line for all bores that are too fast: the velocities name each.
fn too_fast(findings: &[Finding]) -> Option<String> {
    let fast = findings.iter().filter_map(|finding| match finding {
        Finding::TooFast { part, bore_m, velocity_m_s, wall } => Some((part.as_str(), *bore_m, *velocity_m_s, *wall)),
        _ => None,
    });
    let (part, bore_m, velocity_m_s, wall) = fast.clone().max_by(|a, b| a.2.total_cmp(&b.2))?;
    let bore = format!("the {} mm bore of {}", fixed(bore_m * 1e3, 1), short(part));
    let speed = fixed(velocity_m_s, 2);
    // Metal erodes; plastic and rubber do not, but the flow is loud and costs pressure.
    let harm = if wall == Wall::Plastic { "is loud and costs pressure" } else { "wears the wall in time" };
    Some(match fast.count() {
        1 => format!("too fast in {bore}: {speed} m/s {harm}"),
        count => format!("too fast in {count} bores, most in {bore}: {speed} m/s {harm}; see velocities"),
    })
}

fn suction(nodes: &[(String, f64)]) -> String {
    let (first, lowest) = nodes.first().map_or(("", 0.0), |(name, pa)| (name.as_str(), *pa));
    let others = match nodes.len() {
        0 | 1 => String::new(),
        count => format!(" and {}", plural(count - 1, "more port")),
    };
    format!("suction: up to {} kPa below the atmosphere at {first}{others}, so a leak there draws in air", kpa(-lowest))
}

fn close_bends(pairs: &[ClosePair]) -> String {
    let pair = |pair: &ClosePair| {
        let bores = fixed(pair.bores_apart(), 1);
        if pair.first == pair.second {
            format!("two in {} ({bores})", short(&pair.first))
        } else {
            format!("{} and {} ({bores})", short(&pair.first), short(&pair.second))
        }
    };
    format!(
        "bends too close to act alone, in bores; together they may lose less or more than their sum: {}",
        pairs.iter().map(pair).collect::<Vec<_>>().join(", ")
    )
}

/// Parts of chains by their numbers, which the losses spell out; components by their names.
fn short(name: &str) -> &str {
    name.split_once(' ').map(|(start, _)| start).filter(|start| start.contains('.')).unwrap_or(name)
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
    row("  worst case, least", 2, &|report| at(report, |it| it.flow.low_m3_s * 60_000.0));
    row("  worst case, most", 2, &|report| at(report, |it| it.flow.high_m3_s * 60_000.0));
    row("pressure of the first pump kPa", 2, &|report| {
        at(report, |it| it.outcome.pumps.first().map_or(0.0, |pump| pump.gain_pa / 1e3))
    });
    row("lost in fittings %", 1, &|report| report.operating.as_ref().map(|it| 100.0 * it.share_of_fittings));
    row("pressure left at the design flow kPa", 2, &|report| {
        at(report, |it| (it.margin.gain_pa - it.margin.needed_pa) / 1e3)
    });
    row("heat W", 0, &|report| report.operating.as_ref().map(|_| report.heat_w));
    row("warms by K", 2, &|report| report.operating.as_ref().and_then(|it| it.rise_k));
    row("lowest gauge reading kPa", 2, &|report| {
        // Without a reservoir it is counted from somewhere else in each.
        report.reservoir.as_ref()?;
        at(report, |it| it.outcome.nodes.iter().map(|node| node.reading_pa / 1e3).fold(f64::INFINITY, f64::min))
    });
    row("gaps not bridged", 0, &|report| Some(f64::from(u32::try_from(report.open().count()).unwrap_or(u32::MAX))));
    let names = format!("Side by side: first {}, second {}", a.layout, b.layout);
    wrapped(&names, WIDTH, 0, 2) + &table(2, &heads, rows)
}

fn band(flow: &FlowBand) -> String {
    // Of a flow against the stated direction the size is told.
    let flow = if flow.likely_m3_s < 0.0 { flow.times(-1.0) } else { *flow };
    format!(
        "{} L/min; worst case {} to {}, combined {} to {}",
        l_min(flow.likely_m3_s),
        l_min(flow.low_m3_s),
        l_min(flow.high_m3_s),
        l_min(flow.combined_low_m3_s),
        l_min(flow.combined_high_m3_s)
    )
}

fn l_min(flow_m3_s: f64) -> String {
    fixed(flow_m3_s * 60_000.0, 2)
}

fn kpa(pressure_pa: f64) -> String {
    fixed(pressure_pa / 1e3, 2)
}
