//! Every label and number that the panels show of gaps, chains and parts is what the command line prints for the same
//! layout: the panels' words are looked for in the text report of a search of its own.

use egui_kittest::{Harness, kittest::NodeT as _};
use elbowroom::{
    bridge::{BadWish, MakeUpWishes, NearMissWishes, SlackWishes, Wishes, bridge, near_misses, slack},
    catalog::Catalog,
    layout::{Layout, move_in_text},
    report::{BridgeReport, FlowBasis, GapReport, NearMissReport, Ranking, side_by_side, text},
    survey::{LossFlows, judged},
};
use elbowroom_viewer::{
    desk::{Asked, Desk, labels},
    panels::{self, Panels},
};
use std::{collections::BTreeSet, time::Duration};

/// What `elbowroom bridge LAYOUT --max-parts N --slack --all` prints for each gap by itself, and for all of them.
fn printed(name: &str, text: &str, max_parts: usize) -> (Vec<String>, String, BridgeReport) {
    let catalog = Catalog::builtin();
    let layout = Layout::parse(text, name, &catalog).expect("a sound layout");
    let wishes = |want| Wishes { max_parts, want, ..Wishes::default() };
    let flows = LossFlows::operating(&catalog, &layout, &wishes(5)).expect("sound wishes");
    let flows = flows.unwrap_or_else(|| LossFlows::design(&layout));
    let one = |index: usize, want: usize| {
        let gap = layout.gaps()[index];
        let search =
            |want| bridge(&catalog, &layout, &gap, &Wishes { flow_l_min: Some(flows.at(&gap)), ..wishes(want) });
        let (answer, made) = judged(&catalog, &layout, &gap, &MakeUpWishes::default(), want, search)?;
        let report = GapReport::new(&catalog, &layout, gap, answer).expect("they belong together");
        Ok::<_, BadWish>(Some(report.with_make_up(made, true).at_flow(flows.at(&gap))))
    };
    let allowances = layout.allowances();
    let mut gaps: Vec<GapReport> =
        (0..layout.gaps().len()).filter_map(|index| one(index, 5).expect("sound wishes")).collect();
    let together = side_by_side(&catalog, &mut gaps, allowances.clearance_mm, 5, one).expect("sound wishes");
    for (gap, report) in layout.gaps().iter().zip(&mut gaps) {
        let chains = report.answer.chains.iter();
        report.slack =
            chains.filter_map(|chain| slack(&catalog, &layout, gap, chain, &SlackWishes::default()).ok()).collect();
        if report.answer.chains.is_empty() {
            let wishes = NearMissWishes {
                max_parts: max_parts.min(4),
                flow_l_min: Some(flows.at(gap)),
                ..NearMissWishes::default()
            };
            report.near_misses =
                NearMissReport::new(&catalog, near_misses(&catalog, &layout, gap, &wishes).expect("sound wishes"));
        }
    }
    let report = |gaps, together| BridgeReport {
        layout: layout.name().to_owned(),
        max_parts,
        want: 5,
        ranking: Ranking::default(),
        clearance_mm: allowances.clearance_mm,
        flow_l_min: flows.l_min,
        flow_is: flows.basis,
        closure_mm: allowances.closure_mm,
        closure_deg: allowances.closure_deg,
        overlaps: Vec::new(),
        gaps,
        together,
    };
    let each = gaps.iter().map(|gap| in_one_line(&text::bridge(&report(vec![gap.clone()], None)))).collect();
    let all = report(gaps, together);
    (each, in_one_line(&text::bridge(&all)), all)
}

fn in_one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn solved(name: &str, text: &str, max_parts: usize) -> Desk {
    let asked = Asked { max_parts, ..Asked::default() };
    let mut desk = Desk::new(name, text, Catalog::builtin(), asked).expect("a sound layout");
    desk.solve();
    assert!(desk.wait(Duration::from_secs(3600)));
    desk
}

/// Whether the report has this line, and the panel says it.
#[track_caller]
fn both(report: &str, shown: &BTreeSet<String>, line: &str) {
    let line = in_one_line(line);
    assert!(report.contains(&line), "the command line does not print `{line}`:\n{report}");
    assert!(shown.contains(&line), "the panels do not show `{line}`: {shown:#?}");
}

/// Panels with nothing folded away.
fn unfolded() -> Panels {
    let mut panels = Panels::default();
    panels.figures_open = true;
    panels
}

/// Everything that the panels say, as programs that read the screen are told it.
fn said(desk: Desk) -> (Desk, BTreeSet<String>) {
    let mut window = Harness::builder().with_size([1_600.0, 2_400.0]).build_ui_state(
        |ui, state: &mut (Desk, Panels)| {
            panels::show(ui, &mut state.0, &mut state.1);
        },
        (desk, unfolded()),
    );
    window.run();
    let mut said = BTreeSet::new();
    let mut nodes = vec![window.root().accesskit_node()];
    while let Some(node) = nodes.pop() {
        said.extend(node.label().map(|text| in_one_line(&text)));
        said.extend(node.value().map(|text| in_one_line(&text)));
        nodes.extend(node.children());
    }
    (window.into_state().0, said)
}

/// Goes through every gap and chain of a layout and compares; how many chains there were.
fn compare(name: &str, text: &str, max_parts: usize) -> (BridgeReport, usize) {
    let (each, all, report) = printed(name, text, max_parts);
    let mut desk = solved(name, text, max_parts);
    assert_eq!(each.len(), desk.layout().gaps().len());
    let (listed, chosen) = (desk.layout().gaps().len(), desk.gap());
    // What is shown before anybody chose is what is to be built.
    for (gap, known) in report.gaps.iter().enumerate() {
        let built = report.chosen(gap).and_then(|chosen| known.answer.chains.get(chosen));
        assert_eq!(desk.chain_of(gap), built, "gap {gap}");
    }
    let shown;
    (desk, shown) = said(desk);
    both(&all, &shown, &labels::settings(&desk));
    both(&all, &shown, &labels::tally(&desk).expect("all are solved"));
    if listed > 1 {
        both(&all, &shown, &labels::side_by_side(&desk).expect("there are several gaps"));
    }
    for line in labels::gap_lines(&desk) {
        let cells = line.cells.expect("solved");
        assert!(listed == 1 || all.contains(&cells.join(" ")), "{cells:?} in {all}");
        let entry =
            shown.iter().find(|text| text.contains(&format!("{} to {}", line.from, line.to)) && text.contains("mm"));
        let entry = entry.unwrap_or_else(|| panic!("gap {} is not listed", line.number));
        let [number, _, _, apart, best, loss, clear] = cells;
        assert!(entry.starts_with(&number) && entry.contains(&best), "{entry}");
        if loss == "-" {
            assert!(entry.contains(&format!("its ports {apart} mm apart")), "{entry}");
        } else {
            assert!(entry.contains(&format!("{loss} kPa")) && entry.contains(&format!("{clear} mm clear")), "{entry}");
        }
    }
    assert_eq!(desk.gap(), chosen);
    let mut chains_seen = 0;
    for (gap, report) in each.iter().enumerate() {
        desk.choose_gap(gap);
        let count = desk.solved(gap).map_or(0, |solved| solved.ranked().len());
        for chain in 0..count.max(1) {
            desk.choose_chain(chain);
            desk = compare_chain(desk, report, chain, count);
        }
        chains_seen += count;
    }
    (report, chains_seen)
}

/// Compares what is shown of one chain of the gap that is looked at with what is printed of that gap.
fn compare_chain(desk: Desk, report: &str, chain: usize, count: usize) -> Desk {
    let (desk, shown) = said(desk);
    both(report, &shown, &labels::how_it_stands(&desk).expect("solved"));
    both(report, &shown, &labels::statement(&desk).expect("solved"));
    both(report, &shown, &labels::searched(&desk).expect("solved"));
    if let Some(line) = labels::left_out(&desk) {
        both(report, &shown, &line);
    }
    let lines = labels::chain_lines(&desk);
    assert_eq!(lines.len(), count);
    for labels::ChainLine { cells, slack, made_up, variant } in &lines {
        let slack = slack.as_ref().expect("it was asked for");
        assert!(report.contains(&slack.join(" ")), "{slack:?} in {report}");
        let made_up = made_up.expect("it was judged");
        if let Some(variant) = variant {
            // The report spells out the first few of an entry.
            assert!(report.contains(variant) || report.contains("further variants"), "{variant} in {report}");
            continue;
        }
        assert!(report.contains(&cells.join(" ")), "{cells:?} in {report}");
        for cell in cells[1..5].iter().chain([&cells[7], &slack[1]]).map(String::as_str).chain([made_up]) {
            assert!(shown.contains(cell), "{cell} in {shown:#?}");
        }
    }
    for (index, cells) in labels::part_rows(&desk).iter().enumerate() {
        let [number, id, turn, _, heads, x, y, z] = cells;
        for cell in [number, id, turn, heads, &format!("seat at x {x}, y {y}, z {z} mm")] {
            assert!(shown.contains(&in_one_line(cell)), "part {index}: {cell} in {shown:#?}");
        }
        // The report shows the best chain part by part, and all of them in a line each.
        if chain == 0 {
            let drawn = desk.parts().iter().any(labels::is_drawn_out);
            let row = cells.iter().zip(labels::PART_HEADS);
            let row = row.filter(|(_, (head, _))| drawn || *head != labels::DRAWN_OUT);
            let row: Vec<_> = row.map(|(cell, _)| cell.as_str()).collect();
            assert!(report.contains(&row.join(" ")), "{row:?} in {report}");
        }
    }
    let variant = lines.get(chain).and_then(|line| line.variant.as_ref());
    let parts = elbowroom::report::text::labels::parts_in_line(desk.parts());
    let spelled = variant.is_none_or(|variant| report.contains(variant));
    assert!(!spelled || report.contains(&parts), "{parts} in {report}");
    for text in variant.into_iter().cloned().chain(labels::aims(&desk)) {
        assert!(shown.contains(&in_one_line(&text)), "{text} in {shown:#?}");
    }
    for text in labels::easier(&desk) {
        both(report, &shown, &text);
    }
    for (title, items) in labels::near_misses(&desk) {
        assert!(report.contains(title) && shown.contains(title), "{title}");
        for item in items {
            both(report, &shown, &item);
        }
    }
    if count > 0 {
        let verdict = labels::making_up(&desk).expect("it was judged");
        both(report, &shown, &verdict);
        let short = lines[chain].made_up.expect("it was judged");
        assert!(verdict.contains(short), "{short} for {verdict}");
        both(report, &shown, &labels::slack(&desk).expect("it was asked for"));
        both(report, &shown, labels::ADDING_UP);
        both(report, &shown, &labels::slack_within(&desk).expect("it was asked for"));
        let figures = labels::adding_up(&desk).expect("it was asked for");
        assert!(shown.contains(&figures.join(" · ")), "{figures:?} in {shown:#?}");
        let slack = &desk.solved(desk.gap().expect("one")).expect("solved").report.slack[chain];
        let cells = labels::stack_cells(chain, slack);
        assert!(report.contains(&cells.join(" ")), "{cells:?} in {report}");
        assert!(figures.iter().zip(&cells[1..]).all(|(figure, cell)| figure.ends_with(cell)), "{figures:?}");
    }
    if chain == 0 && count > 0 {
        for aim in labels::aims(&desk) {
            both(report, &shown, &aim);
        }
        both(report, &shown, &labels::nearest(&desk).expect("a chain"));
    }
    desk
}

#[test]
fn the_panels_say_what_the_command_line_prints_of_the_demo() {
    let (name, text) = elbowroom_catalog::DEMO;
    let (report, chains) = compare(name, text, 4);
    assert!(chains > 30, "{chains}");
    assert_eq!(report.flow_is, FlowBasis::CircuitIfJoined, "one gap is open");
    // With the one open gap closed by the move that is suggested the circuit has a flow of its own.
    let near = report.gaps[7].near_misses.as_ref().expect("nothing bridges this gap");
    let layout = Layout::parse(text, name, &Catalog::builtin()).expect("sound");
    let moved = move_in_text(text, &layout, &near.found.moves[0].by).expect("it can be written");
    let (report, _) = compare(name, &moved, 4);
    assert_eq!(report.flow_is, FlowBasis::Circuit);
    assert_ne!(report.flow_l_min, layout.design_flow_l_min(), "else nothing would tell the two apart");
}

/// Two gaps side by side whose best chains are in each other's way, 30 mm from face to face.
fn pairs(apart: f64) -> String {
    let part = |name: &str, y: f64, z: f64, facing: &str, towards: f64| {
        format!(
            "(name: \"{name}\", at: (0, {y}, {z}), solids: [(shape: box(size: (4, 4, 4)), at: (0, 0, {towards}))], \
             ports: [(name: \"p\", at: (0, 0, 0), facing: \"{facing}\", thread: \"G 1/4\", thread_length_mm: 7, \
             seat_mm: 20)]),"
        )
    };
    let [a, b] = [("a", 0.0), ("c", apart)].map(|(name, y)| part(name, y, 0.0, "+z", -2.0));
    let [c, d] = [("b", 0.0), ("d", apart)].map(|(name, y)| part(name, y, 30.0, "-z", 2.0));
    format!(
        "(version: 1, name: \"pairs\", components: [{a}{b}{c}{d}], gaps: [(from: \"a.p\", to: \"b.p\"), (from: \
         \"c.p\", to: \"d.p\")])"
    )
}

#[test]
fn chains_that_cannot_stand_side_by_side_are_told_of_alike() {
    let (report, _) = compare("pairs.ron", &pairs(14.0), 2);
    assert!(report.together.is_some_and(|together| !together.agree));
    let (report, _) = compare("pairs.ron", &pairs(25.0), 2);
    assert!(report.together.is_some_and(|together| together.agree));
}
