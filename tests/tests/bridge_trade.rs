//! Pipe-trade offsets, posed as gaps: the chain that the solver finds has the published travel.
//!
//! `E_multipliers.csv`: travel and run per unit of set, for simple offsets (printed values from
//! 3dplumbing.net/ontplumbing/offsets.htm and plumbinghelp.com/rolling-offset-formula). `E_worked_offsets.csv`:
//! worked examples, each with the page it was printed on. Inches are drawn as 10 mm.

use elbowroom::bridge::Completeness;
use elbowroom::catalog::FittingDef;
use elbowroom_tests::ask::{ALL, ask};
use elbowroom_tests::chain::Problem;
use elbowroom_tests::frame::Frame;
use elbowroom_tests::parts::{bend, port, straight};
use elbowroom_tests::table::rows;
use elbowroom_tests::verify::faults;
use nalgebra::Vector3;
use std::collections::HashMap;

/// Millimetres drawn for an inch.
const INCH: f64 = 10.0;
/// Centre to face of the elbows.
const TAKE_OFF: f64 = 10.0;
/// How far printed travels may be from what closes, in inches: hand examples use multipliers of three decimals.
const PRINTED_INCH: f64 = 0.02;

/// An offset as the trade states it, in millimetres: the runs along the pipe, the set square to it.
struct Offset {
    name: String,
    elbow_deg: f64,
    /// Straight on from the first port to the first elbow's centre.
    lead: f64,
    /// Along the pipe between the elbows' centres.
    run: f64,
    /// Up and aside between the elbows' centres; simple offsets have only the first.
    rise: f64,
    roll: f64,
    /// From the second elbow's centre to the second port.
    tail: f64,
    /// Printed: between the elbows' centres.
    travel: f64,
}

/// Poses the offset with straights of the printed length and of lengths that are wrong by more than a closure
/// allowance, and checks that the solver picks the printed one and nothing else of three to five parts.
fn check(offset: &Offset) {
    let mut fittings = vec![bend("elbow", ['M', 'F'], offset.elbow_deg, [TAKE_OFF, TAKE_OFF])];
    let cut = offset.travel - 2.0 * TAKE_OFF;
    let wanted: Vec<(&str, f64)> =
        [("lead", offset.lead - TAKE_OFF), ("travel", cut), ("tail", offset.tail - TAKE_OFF)]
            .into_iter()
            .filter(|(_, length)| *length > 0.1)
            .collect();
    for (id, length) in &wanted {
        fittings.push(straight(id, ['m', 'f'], *length));
    }
    for (id, error) in [("too-short", -1.2), ("too-long", 1.2), ("half-short", -6.0), ("inch-long", INCH)] {
        fittings.push(straight(id, ['m', 'f'], cut + error));
    }
    let end = Vector3::new(offset.lead + offset.run + offset.tail, offset.rise, offset.roll);
    let problem = Problem {
        fittings,
        from: port('f', Frame::looking(Vector3::zeros(), Vector3::x(), 0.0)),
        to: port('m', Frame::looking(end, -Vector3::x(), 0.0)),
        obstacles: Vec::new(),
        closure_mm: 0.3,
        closure_deg: 0.5,
        clearance_mm: 1.0,
        max_parts: 2 + wanted.len(),
    };
    let answer = ask(&problem, ALL);
    assert_eq!(faults(&problem, &answer), Vec::<String>::new(), "{}", offset.name);
    assert_eq!(answer.completeness, Completeness::Complete { parts: problem.max_parts }, "{}", offset.name);
    let mut found = 0;
    for chain in &answer.chains {
        let elbows: Vec<usize> =
            (0..chain.parts.len()).filter(|&index| chain.parts[index].fitting == "elbow").collect();
        let [first, second] = elbows[..] else { panic!("{}: {chain:?}", offset.name) };
        let between: f64 =
            chain.parts[first + 1..second].iter().map(|part| length(&problem.fittings, &part.fitting)).sum();
        let travel = between + 2.0 * TAKE_OFF;
        assert!(
            (travel - offset.travel).abs() < PRINTED_INCH * INCH,
            "{}: travel {travel} found, {} printed",
            offset.name,
            offset.travel
        );
        found += 1;
    }
    assert!(found > 0, "{}: nothing found", offset.name);
}

fn length(fittings: &[FittingDef], id: &str) -> f64 {
    fittings.iter().find(|def| def.id == id).map_or(f64::NAN, |def| def.legs[0])
}

/// Travel and run per unit of set as printed, or none where the table prints nothing for that elbow.
fn printed_multipliers(elbow: &str) -> Option<(f64, f64)> {
    let table = rows(include_str!("../data/bridge/E_multipliers.csv"));
    let row = table.iter().find(|row| row["elbow_deg"] == elbow)?;
    let mut words = row["published_travel / run"].split('/').map(|word| word.split('(').next()?.trim().parse().ok());
    words.next().flatten().zip(words.next().flatten())
}

#[test]
fn simple_offsets_have_the_printed_travel_and_run() {
    // Multipliers of four decimals: at a set of 5 inches what they round away stays under the allowance.
    let set = 5.0 * INCH;
    for elbow in ["22.5", "45", "60", "90"] {
        // Nothing is printed for a right angle, where travel is the set and there is no run.
        let printed = if elbow == "90" { Some((1.0, 0.0)) } else { printed_multipliers(elbow) };
        let (travel, run) = printed.unwrap_or_else(|| panic!("nothing is printed for {elbow}"));
        check(&Offset {
            name: format!("simple {elbow}"),
            elbow_deg: elbow.parse().expect("an angle"),
            lead: TAKE_OFF,
            run: run * set,
            rise: set,
            roll: 0.0,
            tail: TAKE_OFF,
            travel: travel * set,
        });
    }
}

/// The printed numbers of one worked example, in inches: the first of each field, up to a field of words.
fn printed(table: &[HashMap<String, String>], id: &str) -> Vec<f64> {
    let row = table.iter().find(|row| row["id"].starts_with(id)).unwrap_or_else(|| panic!("no row {id}"));
    let number = |field: &str| {
        let field = field.trim().trim_start_matches('~');
        let digits = field.find(|letter: char| !letter.is_ascii_digit() && letter != '.').unwrap_or(field.len());
        field[..digits].parse().ok()
    };
    row["published"].split(';').map_while(number).collect()
}

#[test]
fn worked_examples_have_the_printed_travel() {
    let table = rows(include_str!("../data/bridge/E_worked_offsets.csv"));
    // A 45° offset of 12 inches; run and set are equal.
    let simple = printed(&table, "E1 ");
    check(&Offset {
        name: "E1".to_owned(),
        elbow_deg: 45.0,
        lead: TAKE_OFF,
        run: 12.0 * INCH,
        rise: 12.0 * INCH,
        roll: 0.0,
        tail: TAKE_OFF,
        travel: simple[0] * INCH,
    });
    // A 60° offset of 12 inches: the run is printed first.
    let steep = printed(&table, "E5 ");
    check(&Offset {
        name: "E5".to_owned(),
        elbow_deg: 60.0,
        lead: TAKE_OFF,
        run: steep[0] * INCH,
        rise: 12.0 * INCH,
        roll: 0.0,
        tail: TAKE_OFF,
        travel: steep[1] * INCH,
    });
    // Rolling offsets of rise 8 and roll 12: true offset, setback, lead, travel, tail.
    let rolling = printed(&table, "E2 ");
    check(&Offset {
        name: "E2".to_owned(),
        elbow_deg: 45.0,
        lead: rolling[2] * INCH,
        run: rolling[1] * INCH,
        rise: 8.0 * INCH,
        roll: 12.0 * INCH,
        tail: rolling[4] * INCH,
        travel: rolling[3] * INCH,
    });
    // Setback, lead, travel, tail.
    let slight = printed(&table, "E3 ");
    check(&Offset {
        name: "E3".to_owned(),
        elbow_deg: 22.5,
        lead: slight[1] * INCH,
        run: slight[0] * INCH,
        rise: 8.0 * INCH,
        roll: 12.0 * INCH,
        tail: slight[3] * INCH,
        travel: slight[2] * INCH,
    });
}

/// Rise 30 5/8, roll 17 5/8; the printed travel of "about 50" is a rounding, so the true offset is the check.
#[test]
fn a_rolling_offset_takes_the_printed_true_offset_times_the_multiplier() {
    let table = rows(include_str!("../data/bridge/E_worked_offsets.csv"));
    let true_offset = printed(&table, "E4 ")[0] * INCH;
    let (multiplier, _) = printed_multipliers("45").expect("printed for 45");
    check(&Offset {
        name: "E4".to_owned(),
        elbow_deg: 45.0,
        lead: TAKE_OFF,
        run: true_offset,
        rise: 30.625 * INCH,
        roll: 17.625 * INCH,
        tail: TAKE_OFF,
        travel: true_offset * multiplier,
    });
}
