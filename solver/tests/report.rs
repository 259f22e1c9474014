//! Reports of made-up answers, word for word: what a reader is told in each case.

use elbowroom::{
    bridge::{Answer, Chain, ChainPart, Clearance, Clearances, Completeness, Counts, StopReason, Together, entries},
    catalog::{Catalog, Gender, Thread},
    geometry::{Pose, State, along},
    interference::Seat,
    report::{
        BridgeReport, Compared, FlowBasis, GapFacts, GapReport, Outcome, PartReport, PortFacts, RankBy, Ranking, json,
        odd_turns, text,
    },
};

#[test]
fn a_gap_with_chains_reads_well() {
    let expected = "\
Bench rig: 1 gap
chains of up to 3 parts, losses at 4 L/min, 1 mm clear of everything, closing within 0.3 mm and 0.5°

a.outlet to b.inlet
  both G 1/4 female, 50.0 mm apart (40.0 ahead, 30.0 aside), axes at 90.0°

  #  parts  loss kPa  clear mm  nearest to  off by mm  off by °  length mm  price
  1      2      1.23       3.2  top cover        0.12      0.00       61.5  12.20

  Parts in order, with the turn of each part that must be aimed:
  1: extension-g14-20, bend-90-g14-compact-swivel 123.5°
  2: as 1 in another posture, >100 mm clear: extension-g14-20, bend-90-g14-compact-swivel 0.0°

  Chain 1, from a.outlet:
  #  id                          turn °  exit direction  seat at x    y  z mm
  1  extension-g14-20                 -  +z                    0.0  0.0  20.0
  2  bend-90-g14-compact-swivel   123.5  +x                   11.5  0.0  34.0
  Nearest: 3.2 mm from top cover (part 2).

  Proven best: no chain of up to 2 parts ranks above or among the 2 found; lower-ranked chains were
  not searched.
  Searched 1,234,567 sequences of parts: 12 first bends and runs blocked at every turn, 4,210
  closure attempts, 310 distinct geometries that reach the port; 290 chains of named parts tested:
  280 collide.

Turns count counter-clockwise, seen from the far end of the chain, from the bend before or from the
mark of the port, which `check` lists. Clock faces are seen from there as well, with 12 at a turn of
0°.
";
    assert_eq!(text::bridge(&report(Completeness::BestProven { parts: 2 }, 2, Vec::new())), expected);
}

#[test]
fn each_kind_of_completeness_is_said_in_plain_words() {
    use Completeness::{BestProven, Complete, Sampled, Stopped};
    let stopped = |why| Stopped { why, complete_parts: 2, at_parts: 3 };
    let sampled = || Sampled { complete_parts: 5, parts: 6, what: vec![elbowroom::bridge::Sampling::ManyTurns] };
    for (completeness, chains, outcome, words) in [
        (Complete { parts: 4 }, 0, Outcome::DoesNotFit, "Nothing bridges this gap: proven up to 4 parts."),
        (Complete { parts: 1 }, 1, Outcome::Fits, "Every chain of up to 1 part was considered: 1 fits, and no other."),
        (Complete { parts: 4 }, 2, Outcome::Fits, "Every chain of up to 4 parts was considered: 2 fit, and no others."),
        (BestProven { parts: 2 }, 1, Outcome::Fits, "Proven best: no chain of up to 2 parts ranks above it"),
        (sampled(), 0, Outcome::NoProof, "Found nothing, which is no proof. Every chain of up to 5 parts was"),
        (sampled(), 1, Outcome::Fits, "those of up to 6 parts were only sampled (chains of six or more bends"),
        (stopped(StopReason::Budget), 0, Outcome::NoProof, "its budget of closures was used up: found nothing so far"),
        (stopped(StopReason::Cancelled), 2, Outcome::NoProof, "told to: the chains above fit, but better ones may"),
    ] {
        let report = report(completeness.clone(), chains, Vec::new());
        assert_eq!(report.outcome(), outcome, "{completeness:?} with {chains}");
        let text = one_line(&text::bridge(&report));
        assert!(text.contains(words), "{completeness:?} with {chains}: no `{words}` in\n{text}");
    }
}

#[test]
fn a_gap_without_chains_says_why() {
    let complete = Completeness::Complete { parts: 3 };
    let obstacle = "no collar fits on the seat of a.outlet".to_owned();
    assert!(text::bridge(&report(complete.clone(), 0, vec![obstacle])).contains("The reasons:\n  - no collar fits"));
    let with_counts = |counts| {
        let mut report = report(complete.clone(), 0, Vec::new());
        report.gaps[0].answer.counts = counts;
        one_line(&text::bridge(&report))
    };
    let none = Counts { parts: 3, ..Counts::default() };
    assert!(with_counts(none).contains("No sequence of parts has the threads for it."));
    let open = Counts { sequences: 5.0, closures: 4, ..none };
    assert!(with_counts(open).contains("No sequence of parts closes within 0.3 mm and 0.5°."));
    let blocked = Counts { closed: 3, tested: 3, collided: 3, ..open };
    assert!(with_counts(blocked).contains(
        "3 distinct geometries reach the port, but each comes nearer than 1 mm to something or runs into itself."
    ));
    let stuck = with_counts(Counts { stuck: 2, ..open });
    assert!(stuck.contains(
        "2 distinct geometries could only reach the port nearer than 1 mm to something; no other sequence of parts closes"
    ));
    assert!(stuck.contains("4 closure attempts (2 dropped: too near to something), no geometry that reaches the port"));
    assert!(
        with_counts(Counts { stuck: 1, ..blocked }).contains("or runs into itself; one more could only do the same.")
    );
}

#[test]
fn a_circuit_is_summed_up_and_gives_its_worst_outcome() {
    let mut circuit = report(Completeness::BestProven { parts: 2 }, 1, Vec::new());
    circuit.gaps.extend(report(Completeness::Complete { parts: 3 }, 0, Vec::new()).gaps);
    let stopped = Completeness::Stopped { why: StopReason::Budget, complete_parts: 2, at_parts: 3 };
    circuit.gaps.extend(report(stopped, 0, Vec::new()).gaps);
    assert_eq!(circuit.outcome(), Outcome::DoesNotFit);
    let expected = "
  gap  from      to       apart mm  chain         loss kPa  clear mm
    1  a.outlet  b.inlet      50.0  2 parts           1.23       3.2
    2  a.outlet  b.inlet      50.0  none up to 3         -         -
    3  a.outlet  b.inlet      50.0  none found           -         -
  1 of 3 gaps bridged, 1 proven to have no chain of up to 3 parts, 1 without proof.
";
    for text in [text::bridge(&circuit), text::circuit(&circuit)] {
        assert!(text.contains(expected), "{text}");
    }
}

#[test]
fn chains_are_chosen_so_that_they_can_be_built_side_by_side() {
    let mut circuit = report(Completeness::BestProven { parts: 2 }, 2, Vec::new());
    circuit.gaps.extend(report(Completeness::BestProven { parts: 2 }, 2, Vec::new()).gaps);
    let set = |agree, chosen: [usize; 2], mm| Together {
        chosen: chosen.map(Some).to_vec(),
        nearest: Some((0, 1, mm)),
        agree,
    };
    circuit.together = Some(set(true, [0, 1], 1.62));
    let text = one_line(&text::circuit(&circuit));
    assert!(text.contains("chain 2 of gap 2 is taken here"), "{text}");
    assert!(text.contains("come nearest to each other at gaps 1 and 2: 1.6 mm"), "{text}");
    // Clearance and turn are those of the second chain.
    assert!(text.contains("2 a.outlet b.inlet 50.0 2 parts 1.23 >100"), "{text}");
    assert_eq!(circuit.outcome(), Outcome::Fits);
    let document = serde_json::to_value(json::BridgeDocument::new(&circuit)).unwrap();
    assert_eq!(document["together"]["chosen"], serde_json::json!([1, 2]));
    circuit.together = Some(set(false, [0, 0], -3.7));
    let text = one_line(&text::bridge(&circuit));
    assert!(text.contains("NOT TOGETHER: the best chains of gaps 1 and 2 overlap by 3.7 mm"), "{text}");
    assert_eq!(circuit.outcome(), Outcome::NoProof);
}

#[test]
fn the_way_round_is_told_only_where_threads_leave_a_choice() {
    let catalog = Catalog::builtin();
    let way_round = |id: &str, entry| {
        let part = ChainPart { fitting: id.to_owned(), entry, pose: Pose::identity(), stretch_mm: 0.0, turn_deg: None };
        PartReport::new(catalog.fitting(id).unwrap(), &part).way_round
    };
    // A male and a female end cannot be swapped; two equal swivels need not be told apart.
    assert_eq!(way_round("extension-g14-20", 1), None);
    assert_eq!(way_round("bend-90-g14-compact-two-swivels", 1), None);
    assert_eq!(way_round("bend-90-g14-compact-male-swivel", 0), Some("swivel first"));
    assert_eq!(way_round("bend-90-g14-compact-male-swivel", 1), Some("swivel last"));
}

/// A text without its line breaks, which fall where the width wants them.
fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A report on one gap with `chains` chains of two parts.
fn report(completeness: Completeness, chains: usize, obstacles: Vec<String>) -> BridgeReport {
    let port = |name: &str, at, facing| PortFacts {
        name: name.to_owned(),
        thread: Thread::G14,
        gender: Gender::Female,
        at,
        facing,
    };
    let facts = GapFacts::between(
        port("a.outlet", [0.0; 3], [0.0, 0.0, 1.0]),
        port("b.inlet", [30.0, 0.0, 40.0], [-1.0, 0.0, 0.0]),
    );
    let chains: Vec<_> = [chain(123.45, 1.234, true), chain(359.97, 1.234, false)].into_iter().take(chains).collect();
    let catalog = Catalog::builtin();
    let part = |part: &ChainPart| PartReport::new(catalog.fitting(&part.fitting).unwrap(), part);
    let parts = chains.iter().map(|chain| chain.parts.iter().map(part).collect()).collect();
    let counts = Counts {
        sequences: 1_234_567.0,
        barred: 12,
        closures: 4210,
        stuck: 0,
        closed: 310,
        tested: 290,
        collided: 280,
        parts: 2,
    };
    BridgeReport {
        layout: "Bench rig".to_owned(),
        max_parts: 3,
        want: 5,
        ranking: Ranking::default(),
        clearance_mm: 1.0,
        flow_l_min: 4.0,
        flow_is: FlowBasis::Design,
        closure_mm: 0.3,
        closure_deg: 0.5,
        overlaps: Vec::new(),
        gaps: vec![GapReport {
            entries: entries(&catalog, &chains),
            clearances: chains.iter().map(nearest_to_others).collect(),
            seats: [seated("a.outlet"), seated("b.inlet")],
            facts,
            flow_l_min: 4.0,
            listed: chains.len(),
            answer: Answer { chains, completeness, counts, obstacles },
            chains: parts,
            make_up: Vec::new(),
            compared: None,
            slack: Vec::new(),
            in_the_way: None,
            near_misses: None,
        }],
        together: None,
    }
}

/// The clearance of a chain, as if nothing that it joins were near.
fn nearest_to_others(chain: &Chain) -> Clearances {
    Clearances { to_others: chain.clearance.clone(), to_joined: None }
}

/// A port with which nothing is wrong.
fn seated(port: &str) -> Seat {
    Seat {
        port: port.to_owned(),
        at: [0.0; 3],
        towards: [0.0, 0.0, 1.0],
        mark: [1.0, 0.0, 0.0],
        thread: Thread::G14,
        gender: Gender::Female,
        solid: Some(0),
        stands_off_mm: Some(0.0),
        said_mm: 0.0,
        seat_mm: 20.0,
        on_face: 1.0,
        faults: Vec::new(),
    }
}

fn chain(turn_deg: f64, loss_kpa: f64, near: bool) -> Chain {
    let part =
        |id: &str, pose, turn_deg| ChainPart { fitting: id.to_owned(), entry: 0, pose, stretch_mm: 0.0, turn_deg };
    let clearance = Clearance {
        mm: 3.21,
        state: State::Clear,
        body: "top cover".to_owned(),
        part: 1,
        on_chain: [0.0; 3],
        on_body: [0.0, 0.0, 3.21],
    };
    Chain {
        parts: vec![
            part("extension-g14-20", Pose::identity(), None),
            part("bend-90-g14-compact-swivel", along(20.0), Some(turn_deg)),
        ],
        residual_mm: 0.12,
        residual_deg: 0.0,
        residual_vector_mm: [0.12, 0.0, 0.0],
        loss_kpa,
        clearance: near.then_some(clearance),
        length_mm: 61.5,
        price: near.then_some(12.2),
    }
}

/// What is easier than the first chain for little more loss is named, and nothing else.
#[test]
fn an_easier_chain_is_named_with_what_it_costs() {
    // Along the axis after 120°, and a second bend that is at an odd angle to it.
    let part = |id: &str, turn_deg: f64, heads: [f64; 3]| PartReport {
        fitting: id.to_owned(),
        name: id.to_owned(),
        way_round: None,
        turn_deg: Some(turn_deg),
        aim: None,
        stretch_mm: 0.0,
        heads,
        ends_at: [0.0; 3],
    };
    let odd = vec![part("a", 17.0, [0.8, 0.6, 0.0]), part("b", 45.0, [0.0, 0.0, 1.0])];
    let square = vec![part("a", 17.0, [0.0, -1.0, 0.0]), part("b", 269.5, [0.0, 0.0, 1.0])];
    let half = vec![part("a", 17.0, [0.0, -1.0, 0.0]), part("b", 45.0, [0.0, 0.0, 1.0])];
    assert_eq!([&odd, &square, &half].map(|parts| odd_turns(parts)), [2, 0, 1]);
    let said = |second: &[PartReport], more_kpa: f64| {
        let mut report = report(Completeness::BestProven { parts: 2 }, 2, Vec::new());
        let gap = &mut report.gaps[0];
        gap.entries = vec![0, 1];
        gap.chains = vec![odd.clone(), second.to_vec()];
        gap.answer.chains[1].loss_kpa = gap.answer.chains[0].loss_kpa + more_kpa;
        let text = one_line(&text::bridge(&report));
        let (_, said) = text.split_once("Easier to aim than chain 1: ")?;
        Some(said.split_once(" Chain 1, from").expect("the parts of the first follow").0.to_owned())
    };
    assert_eq!(said(&square, 0.3).as_deref(), Some("chain 2, right angles only, for 0.30 kPa more."));
    assert_eq!(said(&half, 0.0).as_deref(), Some("chain 2, 1 odd angle instead of 2, for the same loss."));
    assert_eq!(said(&square, 0.6), None, "too much more");
    assert_eq!(said(&odd, 0.0), None, "as odd");
}

/// Chains in another order than that of the search: what is equal stays as it was, what cannot be told comes last, and what is
/// claimed of the order follows from what the search has proven.
#[test]
fn another_order_claims_no_more_than_the_search_has_proven() {
    let of = |completeness: Completeness, ranking: &[RankBy]| {
        let mut report = report(completeness, 2, Vec::new());
        report.ranking = Ranking::by(ranking);
        let gap = &mut report.gaps[0];
        // The second chain is longer by a part, cheaper, and nothing is near it.
        gap.entries = vec![0, 1];
        let more = gap.answer.chains[1].parts[0].clone();
        gap.answer.chains[1].parts.insert(0, more);
        gap.answer.chains[1].loss_kpa = 5.0;
        gap.answer.chains[1].price = Some(3.0);
        report.gaps = report.gaps.into_iter().map(|gap| gap.ranked_by(&report.ranking)).collect();
        report
    };
    let complete = Completeness::Complete { parts: 3 };
    let best = Completeness::BestProven { parts: 3 };
    let sampled = Completeness::Sampled { complete_parts: 2, parts: 3, what: vec![] };
    let cases: [(&Completeness, &[RankBy], usize, Option<usize>); 9] = [
        (&complete, &[], 2, None),
        (&complete, &[RankBy::Parts], 2, None),
        (&complete, &[RankBy::Price], 3, Some(2)),
        (&complete, &[RankBy::Parts, RankBy::Price], 2, Some(2)),
        (&best, &[RankBy::Price], 3, Some(0)),
        (&best, &[RankBy::Clearance, RankBy::Loss], 3, Some(0)),
        (&best, &[RankBy::Parts, RankBy::Price], 2, Some(1)),
        (&best, &[RankBy::Loss, RankBy::Loss, RankBy::Parts], 2, Some(0)),
        (&sampled, &[RankBy::Length], 2, Some(0)),
    ];
    for (completeness, ranking, parts_of_first, proven) in cases {
        let report = of(completeness.clone(), ranking);
        let gap = &report.gaps[0];
        assert_eq!(gap.answer.chains[0].parts.len(), parts_of_first, "{completeness:?} {ranking:?}");
        assert_eq!(gap.compared, proven.map(|proven| Compared { chains: 2, proven }), "{completeness:?} {ranking:?}");
        assert_eq!(gap.entries, [0, 1]);
        let said = one_line(&text::bridge(&report));
        assert_eq!(said.contains("those listed are proven best"), proven == Some(2), "{said}");
        assert_eq!(said.contains("of the 2 found; others may be better"), proven.is_some_and(|proven| proven < 2));
    }
}
