//! Every label and number that the panels show of gaps, chains and parts is what the command line prints for the same
//! layout: the panels' words are looked for in the text report of a search of its own.

use egui_kittest::{Harness, kittest::NodeT as _};
use elbowroom::{
    bridge::{MakeUpWishes, NearMissWishes, SlackWishes, Wishes, bridge, made_up_first, near_misses, slack},
    catalog::Catalog,
    layout::Layout,
    report::{BridgeReport, FlowBasis, GapReport, NearMissReport, text},
};
use elbowroom_viewer::{
    desk::{Asked, Desk, labels},
    panels::{self, Panels},
};
use std::{collections::BTreeSet, time::Duration};

/// What `elbowroom bridge LAYOUT --max-parts 4 --slack --all` at the design flow prints for each gap by itself, and for all of them.
fn printed() -> (Vec<String>, String) {
    let catalog = Catalog::builtin();
    let (name, text) = elbowroom_catalog::DEMO;
    let layout = Layout::parse(text, name, &catalog).expect("the demo is sound");
    let wishes = Wishes { max_parts: 4, want: 5, ..Wishes::default() };
    let gaps = layout.gaps().iter().map(|gap| {
        let mut answer = bridge(&catalog, &layout, gap, &wishes);
        let made = made_up_first(&catalog, &layout, gap, &mut answer, &MakeUpWishes::default());
        let report = GapReport::new(&catalog, &layout, *gap, answer).expect("they belong together");
        let mut report = report.with_make_up(made, true);
        let chains = &report.answer.chains;
        report.slack =
            chains.iter().filter_map(|chain| slack(&catalog, &layout, gap, chain, &SlackWishes::default())).collect();
        if report.answer.chains.is_empty() {
            let found =
                near_misses(&catalog, &layout, gap, &NearMissWishes { max_parts: 4, ..NearMissWishes::default() });
            report.near_misses = NearMissReport::new(&catalog, found);
        }
        report
    });
    let allowances = layout.allowances();
    let report = |gaps| BridgeReport {
        layout: layout.name().to_owned(),
        max_parts: 4,
        want: 5,
        clearance_mm: allowances.clearance_mm,
        flow_l_min: layout.design_flow_l_min(),
        flow_is: FlowBasis::Design,
        closure_mm: allowances.closure_mm,
        closure_deg: allowances.closure_deg,
        gaps,
    };
    let gaps: Vec<GapReport> = gaps.collect();
    let each = gaps.iter().map(|gap| in_one_line(&text::bridge(&report(vec![gap.clone()])))).collect();
    (each, in_one_line(&text::bridge(&report(gaps))))
}

fn in_one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn solved() -> Desk {
    let (name, text) = elbowroom_catalog::DEMO;
    let mut desk = Desk::new(name, text, Catalog::builtin(), Asked::default()).expect("the demo is sound");
    desk.solve();
    assert!(desk.wait(Duration::from_secs(500)));
    desk
}

/// Whether the report has this line, and the panel says it.
#[track_caller]
fn both(report: &str, shown: &BTreeSet<String>, line: &str) {
    let line = in_one_line(line);
    assert!(report.contains(&line), "the command line does not print `{line}`:\n{report}");
    assert!(shown.contains(&line), "the panels do not show `{line}`: {shown:#?}");
}

/// Everything that the panels say, as programs that read the screen are told it.
fn said(desk: Desk) -> (Desk, BTreeSet<String>) {
    let mut window = Harness::builder().with_size([1_600.0, 2_400.0]).build_ui_state(
        |ui, state: &mut (Desk, Panels)| {
            panels::show(ui, &mut state.0, &mut state.1);
        },
        (desk, Panels::default()),
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

#[test]
fn the_panels_say_what_the_command_line_prints() {
    let (each, all) = printed();
    let mut desk = solved();
    let gaps = desk.layout().gaps().len();
    assert_eq!(each.len(), gaps);
    let mut chains_seen = 0;
    for (gap, report) in each.iter().enumerate() {
        desk.choose_gap(gap);
        let count = desk.solved(gap).map_or(0, |solved| solved.ranked().len());
        for chain in 0..count.max(1) {
            desk.choose_chain(chain);
            let shown;
            (desk, shown) = said(desk);
            both(report, &shown, &labels::how_it_stands(&desk).expect("solved"));
            both(report, &shown, &labels::statement(&desk).expect("solved"));
            both(report, &shown, &labels::searched(&desk).expect("solved"));
            let lines = labels::chain_lines(&desk);
            assert_eq!(lines.len(), count);
            for labels::ChainLine { cells, slack, .. } in &lines {
                let slack = slack.as_ref().expect("it was asked for");
                assert!(report.contains(&cells.join(" ")), "{cells:?} in {report}");
                assert!(report.contains(&slack.join(" ")), "{slack:?} in {report}");
                for cell in cells[1..5].iter().chain([&cells[7], &slack[1]]) {
                    assert!(shown.contains(cell), "{cell} in {shown:#?}");
                }
                chains_seen += 1;
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
            let parts = elbowroom::report::text::labels::parts_in_line(desk.parts());
            assert!(report.contains(&parts), "{parts} in {report}");
            for (title, items) in labels::near_misses(&desk) {
                assert!(report.contains(title) && shown.contains(title), "{title}");
                for item in items {
                    both(report, &shown, &item);
                }
            }
            if chain == 0 && count > 0 {
                both(report, &shown, &labels::nearest(&desk).expect("a chain"));
            }
        }
    }
    assert!(chains_seen > 40, "{chains_seen}");
    let (desk, shown) = said(desk);
    for line in labels::gap_lines(&desk) {
        let cells = line.cells.expect("solved");
        assert!(all.contains(&cells.join(" ")), "{cells:?} in {all}");
        let entry = shown.iter().find(|text| text.contains(&format!("{} to {}", line.from, line.to)));
        let entry = entry.unwrap_or_else(|| panic!("gap {} is not listed", line.number));
        let [number, .., best, loss, clear] = cells;
        assert!(entry.starts_with(&number) && entry.contains(&best), "{entry}");
        if loss != "-" {
            assert!(entry.contains(&format!("{loss} kPa")) && entry.contains(&format!("{clear} mm clear")), "{entry}");
        }
    }
}
