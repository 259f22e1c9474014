//! Friction and minor losses against the grids of `data/hydraulics` and against what must hold of any loss.

mod hydraulics_table;

use elbowroom::hydraulics::{
    Coolant,
    friction::{self, churchill},
    minor::{self, Bend, BendKind, Passage, PassageError, ThreeK},
};
use hydraulics_table::{assert_close, rows};
use proptest::prelude::*;

const FLOW_1_L_MIN: f64 = 1.0 / 60_000.0;

/// Source: grid of fluids 1.3.1 `Churchill_1977`; the same formula, printed there to eight digits.
#[test]
fn friction_factor_is_churchills() {
    for row in rows("B_friction_factor") {
        let (reynolds, roughness) = (row.number("Re"), row.number("eps_over_D"));
        assert_close(churchill(reynolds, roughness), row.number("f_Churchill1977"), 1e-6, &format!("Re {reynolds}"));
    }
}

/// Source: grid of fluids 1.3.1. Physics, not the same formula: 64/Re below 1,500 within 0.1 % and Colebrook from
/// 4,000 within 4 %.
#[test]
fn friction_factor_agrees_with_laminar_theory_and_with_colebrook() {
    for row in rows("B_friction_factor") {
        let (reynolds, roughness) = (row.number("Re"), row.number("eps_over_D"));
        let got = churchill(reynolds, roughness);
        if reynolds <= 1500.0 {
            assert_close(got, row.number("f_laminar_64_over_Re"), 1e-3, &format!("Re {reynolds}"));
        } else if reynolds >= 4000.0 {
            assert_close(got, row.number("f_Colebrook"), 0.04, &format!("Re {reynolds}, e/D {roughness}"));
        }
    }
}

/// Source: fluids 1.3.1 with water of iapws 1.5.5: four bores, six temperatures, thirteen flows.
#[test]
fn tube_loss_is_that_of_the_grid() {
    for row in rows("B_tube_loss_grid") {
        let coolant = Coolant::water(row.number("T_C")).expect("in range");
        let (bore, flow) = (row.number("bore_mm") * 1e-3, row.number("Q_L_min") * FLOW_1_L_MIN);
        let what = format!("{} mm, {} L/min, {} °C", row.text("bore_mm"), row.text("Q_L_min"), row.text("T_C"));
        let got = friction::loss_pa(flow, bore, 1.0, 1.5e-6, &coolant);
        assert_close(got, row.number("dp_per_m_Pa_Churchill"), 1e-3, &what);
        let reynolds = row.number("Re");
        if !(1500.0..4000.0).contains(&reynolds) {
            assert_close(got, row.number("dp_per_m_Pa_default"), 0.02, &what);
        }
    }
}

/// Source: constants and grid of fluids 1.3.1 `Darby3K`, itself R. Darby, *Chemical Engineering Fluid Mechanics*.
#[test]
fn mitres_and_threaded_elbows_are_darbys() {
    let ours: [(&str, ThreeK); 4] = [
        ("Elbow, 90°, mitered, 1 weld, (90°)", minor::mitre(90_f64.to_radians())),
        ("Elbow, 45°, mitered, 1 weld, (45°)", minor::mitre(45_f64.to_radians())),
        ("Elbow, 90°, threaded, standard, (r/D = 1)", minor::threaded(90_f64.to_radians())),
        ("Elbow, 45°, threaded standard, (r/D = 1)", minor::threaded(45_f64.to_radians())),
    ];
    for (name, numbers) in ours {
        let grid: Vec<_> = rows("B_2K3K_K_grid").into_iter().filter(|row| row.text("fitting") == name).collect();
        assert_eq!(grid.len(), 36, "{name}");
        for row in grid {
            let got = numbers.coefficient(row.number("Re"), row.number("bore_mm") * 1e-3);
            assert_close(got, row.number("K"), 1e-6, &format!("{name} at Re {}", row.text("Re")));
        }
    }
}

fn any_bend() -> impl Strategy<Value = Bend> {
    let kind = prop_oneof![
        Just(BendKind::Drilled),
        Just(BendKind::Threaded),
        (0.5..10.0).prop_map(|radius_over_bore| BendKind::Swept { radius_over_bore }),
    ];
    (0.0..170.0_f64, kind).prop_map(|(degrees, kind)| Bend::new(degrees.to_radians(), kind))
}

fn any_passage() -> impl Strategy<Value = Passage> {
    (0.003..0.02, 0.0..0.5, prop::collection::vec(any_bend(), 0..4))
        .prop_map(|(bore, length, bends)| Passage::new(bore, length, bends).expect("valid"))
}

proptest! {
    /// A solver brackets on this: more flow, more loss, without a jump.
    #[test]
    fn loss_grows_with_flow_and_never_jumps(passage in any_passage(), flow in 1e-9..1e-3_f64, celsius in 0.0..95.0) {
        let water = Coolant::water(celsius).expect("in range");
        let (here, a_little_more) = (passage.loss_pa(flow, &water), passage.loss_pa(flow * 1.0001, &water));
        if passage.length_m() > 0.0 || passage.bends().iter().any(|bend| bend.angle_rad > 0.0) {
            prop_assert!(a_little_more > here, "{here} {a_little_more}");
        }
        // In transition the loss grows with the fifth power of the flow at most.
        prop_assert!(a_little_more <= here * 1.0001_f64.powi(6));
        prop_assert_eq!(passage.loss_pa(-flow, &water), -here);
    }

    /// Absurd but positive input overflows to the largest number, never to `NaN`.
    #[test]
    fn loss_is_finite_for_any_positive_input(
        bore in proptest::num::f64::POSITIVE, length in proptest::num::f64::POSITIVE, bend in any_bend(),
        flow in proptest::num::f64::ANY, density in proptest::num::f64::POSITIVE, viscosity in proptest::num::f64::POSITIVE,
    ) {
        prop_assume!(bore.is_finite() && length.is_finite() && flow.is_finite());
        prop_assume!(density.is_finite() && viscosity.is_finite());
        let coolant = Coolant { density_kg_m3: density, viscosity_pa_s: viscosity, heat_capacity_j_kg_k: 4000.0 };
        let passage = Passage::new(bore, length, vec![bend]).expect("positive");
        let loss = passage.loss_pa(flow, &coolant);
        prop_assert!(loss.is_finite() && (loss == 0.0 || loss.signum() == flow.signum()), "{loss}");
    }
}

#[test]
fn nothing_is_lost_at_rest() {
    let water = Coolant::water(25.0).expect("in range");
    let bends = vec![Bend::new(1.0, BendKind::Swept { radius_over_bore: 1.5 }), Bend::new(1.0, BendKind::Drilled)];
    let passage = Passage::new(0.01, 0.1, bends).expect("valid");
    assert_eq!(passage.loss_pa(0.0, &water), 0.0);
}

#[test]
fn a_passage_that_cannot_be_is_refused() {
    let bend = |angle_rad, kind| Passage::new(0.01, 0.1, vec![Bend::new(angle_rad, kind)]);
    assert_eq!(Passage::new(-0.01, 0.1, vec![]), Err(PassageError::Bore(-0.01)));
    assert!(matches!(Passage::new(f64::NAN, 0.1, vec![]), Err(PassageError::Bore(_))));
    assert_eq!(Passage::new(0.01, -0.1, vec![]), Err(PassageError::Length(-0.1)));
    assert_eq!(bend(4.0, BendKind::Drilled), Err(PassageError::Angle { index: 0, angle_rad: 4.0 }));
    let tight = BendKind::Swept { radius_over_bore: 0.4 };
    assert_eq!(bend(1.0, tight), Err(PassageError::Radius { index: 0, radius_over_bore: 0.4 }));
    let rough = Passage::new(0.01, 0.1, vec![]).expect("valid").with_roughness(0.001);
    assert_eq!(rough, Err(PassageError::Roughness { roughness_m: 0.001, max_m: 0.0005 }));
}
