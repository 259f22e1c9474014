//! Odd circuits out of any bytes, for the fuzzer and for random tests, and an auditor of what comes of them.

use crate::fuzzing::Reader;
use elbowroom::bridge::{Chain, ChainPart};
use elbowroom::catalog::Catalog;
use elbowroom::circuit::{Circuit, CircuitFault, Heat, HotPart, Operating};
use elbowroom::geometry::along;
use elbowroom::layout::Layout;
use elbowroom::report::FlowPlot;
use elbowroom::source::Source;
use std::fmt::Write as _;

/// A layout as text: up to seven components that coolant goes through in odd ways, joined by gaps that mostly make a
/// ring. Its numbers are within what files may hold, but the least, the greatest and equal ones are common.
#[must_use]
pub fn layout_text(bytes: &[u8]) -> String {
    let mut reader = Reader::new(bytes);
    let count = 1 + usize::from(reader.byte() % 7);
    let mut text = "(version: 1, name: \"odd\", components: [\n".to_owned();
    let mut ports = Vec::new();
    for index in 0..count {
        let x = 200 * index;
        // Without a pump there is little to solve.
        let kind = if index == 0 && reader.byte() >= 32 { 0 } else { reader.byte() % 10 };
        if kind == 9 {
            let _infallible = writeln!(text, "(name: \"c{index}\", template: \"tee-fff-g14\", at: ({x}, 0, 0)),");
            ports.push([format!("c{index}.end-0"), format!("c{index}.end-1"), format!("c{index}.branch")]);
            continue;
        }
        let flow = match kind {
            0 | 1 => format!(", flow: (pump: {})", pump(&mut reader)),
            2 => ", flow: (reservoir: true)".to_owned(),
            3 => {
                let ways = reader.choice([
                    "(\"inlet\", \"outlet\"), (\"inlet\", \"side\")",
                    "(\"inlet\", \"outlet\"), (\"side\", \"outlet\")",
                    "(\"side\", \"inlet\")",
                    "(\"outlet\", \"inlet\"), (\"inlet\", \"outlet\")",
                ]);
                format!(", flow: (passages: [{ways}], loss: {})", loss(&mut reader))
            }
            4 => String::new(),
            _ => format!(
                ", flow: (loss: {}{})",
                loss(&mut reader),
                reader.choice(["", ", bore_mm: 6", ", wall: copper"])
            ),
        };
        let work = reader.choice([
            "",
            "",
            ", heat_w: 100",
            ", heat_w: 100, heat: (resistance: table([(1, 0.2), (4, 0.1)])), limit_celsius: 60",
            ", heat: (conductance: [(4, 100, 15)], air_m3_h: 80)",
            ", heat: (conductance: [(1, 50, 3), (1, 100, 4), (4, 50, 5), (4, 100, 9)], air_m3_h: 0)",
            ", heat_w: 100000, heat: (conductance: [(4, 100, 1000000)], air_m3_h: 100000)",
            ", pump_speed: 0.5",
            ", pump_speed: 0",
        ]);
        let _infallible = writeln!(
            text,
            "(name: \"c{index}\", at: ({x}, 0, {}), solids: [(shape: box(size: (40, 40, 40)))], ports: [{}]{flow}{work}),",
            reader.choice([0, 0, 300]),
            [["inlet", "-20, 0, 0", "-x"], ["outlet", "20, 0, 0", "+x"], ["side", "0, 20, 0", "+y"]]
                .map(port)
                .join(", ")
        );
        ports.push(["inlet", "outlet", "side"].map(|name| format!("c{index}.{name}")));
    }
    text.push_str("], gaps: [\n");
    for index in 0..count {
        let (mut from, mut to) = (index, (index + 1) % count);
        let [mut out, mut into] = [1, 0];
        if reader.byte() < 16 {
            [from, to] = [(); 2].map(|()| usize::from(reader.byte()) % count);
            [out, into] = [(); 2].map(|()| usize::from(reader.byte()) % 3);
        }
        if reader.byte() >= 6 {
            let _infallible = writeln!(text, "(from: \"{}\", to: \"{}\"),", ports[from][out], ports[to][into]);
        }
    }
    let coolant = reader.choice(["", ", coolant: (glycol: ethylene, volume_percent: 50, celsius: 1)"]);
    let ambient = reader.choice(["", ", ambient_celsius: 20", ", ambient_celsius: 80", ", ambient_celsius: -40"]);
    let _infallible = writeln!(text, "]{coolant}{ambient})");
    text
}

/// What is wrong with the circuit of [`layout_text`], if anything: an answer must hold together, a fault must say
/// where in the file it is. A layout that is refused is not wrong.
///
/// # Panics
/// Never, unless the library does.
#[must_use]
pub fn circuit_faults(bytes: &[u8]) -> Vec<String> {
    let text = layout_text(bytes);
    let (source, catalog) = (Source::new("odd.ron", text.as_str()), Catalog::builtin());
    let layout = match Layout::from_source(source.clone(), &catalog) {
        Ok(layout) => layout,
        Err(problems) if problems.render(false).contains("odd.ron") => return Vec::new(),
        Err(problems) => return vec![format!("refused without a place: {problems}")],
    };
    let mut reader = Reader::new(bytes.get(40..).unwrap_or_default());
    let chains: Vec<Option<Chain>> = layout.gaps().iter().map(|_| chain(&mut reader)).collect();
    let chains: Vec<Option<&Chain>> = chains.iter().map(Option::as_ref).collect();
    let solved = Circuit::new(&layout, &catalog, &chains).and_then(|circuit| {
        let operating = circuit.operating()?;
        Ok((circuit, operating))
    });
    match solved {
        Ok((circuit, operating)) => answer_faults(&circuit, &operating),
        Err(fault) => place_faults(&fault, &source),
    }
}

fn answer_faults(circuit: &Circuit, operating: &Operating) -> Vec<String> {
    let mut faults = Vec::new();
    let mut expect = |holds: bool, what: String| {
        if !holds {
            faults.push(what);
        }
    };
    let outcome = &operating.outcome;
    let most = outcome.parts.iter().map(|part| part.flow_m3_s.abs()).fold(0.0, f64::max);
    let pressure = outcome.pumps.iter().map(|pump| pump.shut_off_pa).fold(0.0, f64::max);
    let residuals = &outcome.residuals;
    expect(residuals.mass_m3_s <= 1e-9 * most, format!("mass: {residuals:?}"));
    expect(residuals.loop_pa <= 1e-6 * pressure, format!("loops: {residuals:?} of {pressure} Pa"));
    let shares: f64 = outcome.parts.iter().map(|part| part.share).sum();
    expect((shares - 1.0).abs() < 1e-9 || shares == 0.0, format!("shares add up to {shares}"));
    expect(operating.bands.len() == outcome.parts.len(), "a band for each part".to_owned());
    let flow = &operating.flow;
    let slack = 1e-6 * most;
    expect(
        flow.low_m3_s <= flow.likely_m3_s + slack && flow.likely_m3_s <= flow.high_m3_s + slack,
        format!("bounds out of order: {flow:?}"),
    );
    for part in &outcome.parts {
        expect(part.flow_m3_s.is_finite() && part.loss_pa.is_finite(), format!("{part:?}"));
    }
    if let Some(Heat::Steady(steady)) = &operating.heat {
        let at = &steady.temperatures;
        let most = at.heat_w + at.shaft_w;
        expect(at.imbalance_w().abs() <= 1e-6 * most.max(1e-3), format!("heat: {} of {most} W", at.imbalance_w()));
        let sound = |part: &HotPart| {
            part.celsius.is_finite() && part.least_celsius <= part.celsius && part.celsius <= part.most_celsius
        };
        expect(steady.parts.iter().all(sound), format!("{:?}", steady.parts));
    }
    match FlowPlot::new("odd", circuit.network()) {
        Ok(plot) => {
            let svg = plot.to_svg();
            expect(!svg.contains("NaN") && !svg.contains("inf"), "a picture with numbers that are none".to_owned());
        }
        Err(error) => expect(false, format!("solved, but not drawn: {error}")),
    }
    faults
}

fn place_faults(fault: &CircuitFault, source: &Source) -> Vec<String> {
    let shown = fault.in_file(source).render(false);
    if shown.contains("odd.ron:") && shown.contains("help") && !fault.message.is_empty() {
        Vec::new()
    } else {
        vec![format!("no place or no help: {shown}")]
    }
}

fn port([name, at, facing]: [&str; 3]) -> String {
    format!("(name: \"{name}\", at: ({at}), facing: \"{facing}\", thread: \"G 1/4\", thread_length_mm: 8, seat_mm: 20)")
}

fn pump(reader: &mut Reader<'_>) -> &'static str {
    reader.choice([
        "table([(0, 20), (4, 16), (8, 0)])",
        "three_points([(0, 40), (6, 30), (12, 0)])",
        "table([(0, 10000), (1000, 0)])",
        "table([(0, 0.001), (0.001, 0)])",
        "table([(0, 5), (4, 5), (8, 5)])",
        "table([(0, 20)])",
        "three_points([(0, 20), (4, 20), (8, 0)])",
    ])
}

fn loss(reader: &mut Reader<'_>) -> &'static str {
    reader.choice([
        "coefficient(l_min: 4, kpa: 8)",
        "coefficient(l_min: 4, kpa: 8, power: 1)",
        "coefficient(l_min: 1000, kpa: 0.001)",
        "coefficient(l_min: 0.001, kpa: 10000)",
        "table([(2, 1), (4, 3), (6, 8)])",
        "table([(0.001, 0.001)])",
        "table([(2, 1), (4, 1)])",
    ])
}

/// Now and then a chain: sound fittings in any order, tees and plugs among them, and one that no catalog has.
fn chain(reader: &mut Reader<'_>) -> Option<Chain> {
    let fittings = [
        "extension-g14-20",
        "bend-90-g14-compact-swivel",
        "offset-18-g14-two-swivels",
        "link-g14-14-20",
        "tee-fff-g14",
        "reducer-mf-g38-g14",
        "no such fitting",
    ];
    let count = reader.byte() % 5;
    let parts: Vec<ChainPart> = (0..count)
        .map(|_| ChainPart {
            fitting: reader.choice(fittings).to_owned(),
            entry: usize::from(reader.byte() % 3),
            pose: along(f64::from(reader.byte())),
            stretch_mm: reader.choice([0.0, 0.0, 6.0]),
            turn_deg: None,
        })
        .collect();
    (count > 0).then(|| bare_chain(parts))
}

/// A chain of these parts of which nothing was worked out.
#[must_use]
pub fn bare_chain(parts: Vec<ChainPart>) -> Chain {
    Chain {
        parts,
        residual_mm: 0.0,
        residual_deg: 0.0,
        residual_vector_mm: [0.0; 3],
        loss_kpa: 0.0,
        clearance: None,
        length_mm: 0.0,
        price: None,
    }
}
