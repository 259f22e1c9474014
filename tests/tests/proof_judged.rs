//! A slow judge that walks through every posture in small steps, knowing nothing of how the solver covers them: where it
//! finds room, the solver lists the chain or says that it sampled, and what the solver lists is so.
//!
//! `ELBOWROOM_PLANTED=1000` has them tell about as many chains.

use elbowroom_tests::adversary::{Fate, JUDGED, Judged, both_tell, planted_chains};
use elbowroom_tests::judge::judge;
use elbowroom_tests::swinging::{Kind, swinging};
use rayon::prelude::*;

/// How many chains, of all kinds in turn, without being asked for more.
const JUDGED_CHAINS: u64 = 100;

#[test]
fn where_the_judge_finds_room_nothing_is_denied() {
    let of_kind = |seed: u64| JUDGED[usize::try_from(seed).unwrap_or(0) % JUDGED.len()];
    let seeds = 0..planted_chains(JUDGED_CHAINS);
    let all: Vec<Judged> = seeds.into_par_iter().map(|seed| both_tell(of_kind(seed), seed)).collect();
    let mut wrong: Vec<String> =
        all.iter().flat_map(|each| each.faults.iter().map(move |fault| format!("{}: {fault}", each.name))).collect();
    let denied = all.iter().filter(|each| each.fate == Some(Fate::Denied));
    wrong.extend(denied.map(|each| format!("{} with {:.4} mm to spare: {}", each.name, each.spare_mm, each.words)));
    assert!(wrong.is_empty(), "{} of {}:\n{}", wrong.len(), all.len(), wrong.join("\n"));
    let judged = all.iter().filter(|each| each.fate.is_some()).count();
    assert!(judged * 100 >= all.len() * 50, "the judge found room in {judged} of {} only", all.len());
    assert!(judged * 100 <= all.len() * 80, "the judge found room in {judged} of {}", all.len());
}

/// The judge finds what was planted, or something roomier, though it is not told where.
#[test]
fn the_judge_finds_what_was_planted() {
    let kinds = [Kind::ThreeOffsets, Kind::TwoOffsetsTwoBends, Kind::FourBendsCoaxial, Kind::FiveBendsCoaxial];
    let lost: Vec<String> = kinds
        .into_par_iter()
        .flat_map(|kind| (0..10_u64).into_par_iter().map(move |seed| (kind, seed)))
        .filter_map(|(kind, seed)| {
            let planted = swinging(kind, seed);
            let enough = planted.problem.clearance_mm + 0.02;
            let found = judge(&planted.problem, &planted.steps, enough).best.map_or(f64::NEG_INFINITY, |best| best.0);
            (found < enough).then(|| format!("{} {seed}: {found} of {enough}", kind.name()))
        })
        .collect();
    assert!(lost.len() <= 1, "{}", lost.join("\n"));
}
