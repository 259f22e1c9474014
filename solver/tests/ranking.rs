//! Lists in the order that was asked for, and what is in the way of chains that are not in them.

use crate::program::{Ran, run, run_with_stdin};
use serde_json::Value;

fn demo() -> String {
    run(&["demo"]).ends_with_code(0).out
}

/// One gap of the demo, which can be bridged by chains of three parts and more.
const GAP: [&str; 2] = ["flow-meter.outlet", "processor.inlet"];

fn ask(layout: &str, more: &[&str]) -> Ran {
    run_with_stdin(&[&["bridge", "-", GAP[0], GAP[1], "--max-parts", "4"], more].concat(), layout)
}

fn chains(ran: &Ran) -> Vec<Value> {
    ran.json()["gaps"][0]["chains"].as_array().expect("a list of chains").clone()
}

fn figure(chain: &Value, name: &str) -> f64 {
    match name {
        "parts" => chain["parts"].as_array().expect("parts").len() as f64,
        "ease" => chain["odd_turns"].as_f64().expect("a number"),
        "clearance" => -chain["clearance_to_others"]["mm"].as_f64().unwrap_or(f64::INFINITY),
        "slack" => -chain["slack"]["builds"]["share"].as_f64().expect("a share"),
        "loss" => chain["loss_kpa"].as_f64().expect("a number"),
        "price" => chain["price"].as_f64().unwrap_or(f64::INFINITY),
        "length" => chain["length_mm"].as_f64().expect("a number"),
        unknown => panic!("{unknown}"),
    }
}

#[test]
fn lists_come_in_the_order_that_was_asked_for() {
    let layout = demo();
    let usual = chains(&ask(&layout, &["--format", "json"]).ends_with_code(0));
    assert_eq!(chains(&ask(&layout, &["--format", "json", "--rank", "parts,loss"]).ends_with_code(0)), usual);
    for rank in ["ease", "clearance", "price,loss", "length", "parts,clearance", "loss", "slack"] {
        let ran = ask(&layout, &["--format", "json", "--rank", rank]).ends_with_code(0);
        let document = ran.json();
        let names: Vec<&str> = rank.split(',').collect();
        assert_eq!(document["rank"], Value::from(names.clone()), "{rank}");
        let found = chains(&ran);
        let entries: Vec<&Value> = found.iter().filter(|chain| chain["variant_of"].is_null()).collect();
        assert_eq!(entries.len(), 5, "{rank}: as many entries as are wanted");
        let key = |chain: &Value| names.iter().map(|name| figure(chain, name)).collect::<Vec<f64>>();
        for pair in entries.windows(2) {
            assert!(key(pair[0]) <= key(pair[1]), "{rank}: {:?} before {:?}", key(pair[0]), key(pair[1]));
        }
        if rank != "slack" {
            assert!(key(entries[0]) <= key(&usual[0]), "{rank}: the first of the usual order is better");
        }
        let compared = &document["gaps"][0]["compared"];
        assert!(compared["chains"].as_u64() >= Some(found.len() as u64), "{rank}: {compared}");
        assert!(compared["proven"].as_u64() <= Some(found.len() as u64), "{rank}: {compared}");
        let said = ask(&layout, &["--rank", rank]).ends_with_code(0).out;
        let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(said.contains(&format!("By {}, ", names.join(", then "))), "{said}");
    }
}

#[test]
fn an_order_by_what_there_is_not_is_refused() {
    let refused = run(&["bridge", "fits.ron", "--rank", "beauty"]).ends_with_code(2);
    refused.complains("beauty").complains("ease");
}

/// Why not fewer parts, or a lighter bend: the answer names what they run into.
#[test]
fn what_is_in_the_way_of_shorter_chains_is_named_where_longer_ones_fit() {
    let layout = demo();
    let mut named = 0;
    for gap in [["pump.outlet", "filter.inlet"], GAP] {
        let ran = run_with_stdin(&["bridge", "-", gap[0], gap[1], "--max-parts", "4", "--format", "json"], &layout);
        let document = ran.ends_with_code(0).json();
        let found = &document["gaps"][0];
        let way = &found["in_the_way"];
        if way.is_null() {
            continue;
        }
        named += 1;
        let count = |value: &Value| value.as_u64().expect("a count");
        let colliding = count(&way["looked_at"]) - count(&way["clear"]);
        assert!(colliding > 0, "{way}");
        let blockers = way["blockers"].as_array().expect("a list");
        assert!(!blockers.is_empty());
        let alone: u64 = blockers.iter().map(|blocker| count(&blocker["alone"])).sum();
        assert!(alone <= colliding, "{way}");
        assert!(blockers.iter().all(|blocker| (1..=colliding).contains(&count(&blocker["chains"]))), "{way}");
        let text = run_with_stdin(&["bridge", "-", gap[0], gap[1], "--max-parts", "4"], &layout).out;
        let said = text.split_whitespace().collect::<Vec<_>>().join(" ");
        let come = if colliding == 1 { "comes" } else { "come" };
        assert!(said.contains(&format!("that reach the port, {colliding} {come} too near to something:")), "{said}");
    }
    assert!(named > 0, "nothing was in the way of any chain");
}
