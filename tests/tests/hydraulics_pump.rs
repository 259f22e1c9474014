//! Pumps and measured components: what they accept, and that nothing else gets through.

use elbowroom::hydraulics::{
    Band, Coefficient, ComponentError, Coolant, CurveError, Element, Holdback, LossTable, MonotoneCurve, Pump,
    PumpError, Side, Trend,
    minor::{Bend, BendKind, Coil, Passage, Step},
    network::Network,
};
use proptest::prelude::*;

fn assert_close(got: f64, want: f64, tolerance: f64, what: &str) {
    assert!((got - want).abs() <= tolerance * want.abs(), "{what}: got {got}, want {want}");
}

fn water() -> Coolant {
    Coolant::water(25.0).expect("in range")
}

/// Source: the affinity laws; flow with the speed, pressure with its square.
#[test]
fn speed_follows_the_affinity_laws() {
    let points = [(0.0, 40e3), (5e-5, 36e3), (1e-4, 25e3), (2e-4, 0.0)];
    let full = Pump::table(&points).expect("falling");
    let half = full.clone().with_speed(0.5).expect("in range");
    for flow in [0.0, 3e-5, 8e-5, 1.7e-4] {
        assert_close(half.gain_pa(0.5 * flow, &water()), 0.25 * full.gain_pa(flow, &water()), 1e-12, "half speed");
    }
    assert_eq!((half.shut_off_pa(), half.last_flow_m3_s()), (10e3, 1e-4));
}

/// Three points of a parabola give that parabola back, between and beyond them.
#[test]
fn three_points_of_a_parabola_are_that_parabola() {
    let parabola = |flow: f64| 50e3 - 2e12 * flow * flow;
    let pump = Pump::three_points([0.0, 4e-5, 1e-4].map(|flow| (flow, parabola(flow)))).expect("falling");
    for flow in [1e-5, 7e-5, 1.5e-4] {
        assert_close(pump.gain_pa(flow, &water()), parabola(flow), 1e-12, "parabola");
    }
    assert_close(pump.last_flow_m3_s(), (50e3_f64 / 2e12).sqrt(), 1e-12, "where it gains nothing");
}

#[test]
fn a_pump_that_is_off_only_resists() {
    let off = Pump::table(&[(0.0, 40e3), (2e-4, 0.0)]).and_then(|pump| pump.with_speed(0.0)).expect("off");
    assert!(!off.is_on());
    assert_eq!(off.gain_pa(0.0, &water()), 0.0);
    assert_close(off.gain_pa(1e-4, &water()), -10e3, 1e-12, "against the flow");
    assert_close(off.gain_pa(-1e-4, &water()), 10e3, 1e-12, "against the flow");
}

#[test]
fn a_pump_that_cannot_be_is_refused() {
    let table = |points: &[(f64, f64)]| Pump::table(points).expect_err("refused");
    // A curve turned around: the flows run downwards.
    let turned = table(&[(2e-4, 0.0), (1e-4, 25e3), (0.0, 40e3)]);
    assert!(matches!(turned, PumpError::Curve(CurveError::Order { index: 1, .. })), "{turned}");
    // Columns swapped or read the wrong way: the pressure rises.
    let rising = table(&[(0.0, 1e3), (1e-4, 25e3)]);
    assert_eq!(
        rising.to_string(),
        "the pressure rises from 1000 to 25000 Pa at point 1: give the falling part of the pump curve, from zero flow to none lifted"
    );
    assert!(matches!(table(&[(1e-5, 40e3), (1e-4, 0.0)]), PumpError::NoShutOff(_)));
    assert!(matches!(table(&[(0.0, 0.0), (1e-4, 0.0)]), PumpError::NoGain(_)));
    assert!(matches!(table(&[(0.0, 40e3), (1e-4, -1.0)]), PumpError::BelowZero { index: 1, .. }));
    assert!(matches!(table(&[(0.0, 40e3)]), PumpError::Curve(CurveError::TooFew(1, 2))));
    assert!(matches!(table(&[(0.0, f64::NAN), (1.0, 0.0)]), PumpError::Curve(CurveError::NotFinite { index: 0, .. })));
    let flat = Pump::three_points([(0.0, 40e3), (1e-5, 40e3), (2e-5, 0.0)]);
    assert!(matches!(flat, Err(PumpError::NotFalling(..))));
    let pump = || Pump::table(&[(0.0, 40e3), (1e-4, 0.0)]).expect("falling");
    assert_eq!(pump().with_speed(0.05), Err(PumpError::Speed(0.05)));
    assert!(matches!(pump().with_speed(f64::NAN), Err(PumpError::Speed(_))));
    assert!(matches!(pump().with_bands(Band { low: 1.1, high: 1.2 }, Band::EXACT), Err(PumpError::Band(_))));
}

#[test]
fn a_component_that_cannot_be_is_refused() {
    let table = |points: &[(f64, f64)]| LossTable::new(points).expect_err("refused");
    assert!(matches!(table(&[]), ComponentError::Curve(CurveError::TooFew(0, 1))));
    assert!(matches!(table(&[(0.0, 0.0), (1e-4, 1e3)]), ComponentError::Point { index: 0, .. }));
    assert!(matches!(table(&[(1e-5, 1e3), (2e-5, 5e2)]), ComponentError::Curve(CurveError::Turns { index: 2, .. })));
    assert!(matches!(table(&[(2e-5, 1e3), (1e-5, 2e3)]), ComponentError::Curve(CurveError::Order { index: 2, .. })));
    assert!(matches!(Coefficient::power(1e-5, 1e3, 3.0), Err(ComponentError::Power(_))));
    assert!(matches!(Coefficient::square(1e-5, -1e3), Err(ComponentError::Point { .. })));
    assert!(matches!(Holdback::new(-1.0), Err(ComponentError::Opening(_))));
}

/// One point is a square law through it; a table goes through its points and on beyond the last.
#[test]
fn a_measured_component_meets_its_points() {
    let one = LossTable::new(&[(4e-5, 8e3)]).expect("valid");
    assert_close(one.loss(8e-5, &water(), Side::Likely).pa, 32e3, 1e-12, "square law");
    let points = [(1e-5, 0.7e3), (2e-5, 2.2e3), (4e-5, 7.5e3)];
    let table = LossTable::new(&points).expect("rising");
    for (flow, loss) in points {
        assert_close(table.loss(flow, &water(), Side::Likely).pa, loss, 1e-12, "point");
        assert_close(table.loss(-flow, &water(), Side::Likely).pa, -loss, 1e-12, "point the other way");
    }
    assert_eq!(table.measured_m3_s(&water()), (1e-5, 4e-5));
    assert_eq!(one.measured_m3_s(&water()), (2e-5, 8e-5));
    let beyond = table.loss(8e-5, &water(), Side::Likely).pa;
    assert!((2.0 * 7.5e3..=4.0 * 7.5e3).contains(&beyond), "{beyond}");
}

fn rising_points() -> impl Strategy<Value = Vec<(f64, f64)>> {
    prop::collection::vec((1e-6..1e-4_f64, 0.0..1e4_f64), 2..9).prop_map(|steps| {
        let mut at = (0.0, 0.0);
        steps
            .into_iter()
            .map(|(flow, loss)| {
                at = (at.0 + flow, at.1 + loss);
                at
            })
            .collect()
    })
}

proptest! {
    /// The curve stays between its neighbouring points and its slope is its derivative.
    #[test]
    fn a_monotone_curve_never_swings(points in rising_points(), along in 0.0..1.0_f64) {
        let curve = MonotoneCurve::new(points.clone(), Trend::Rising).expect("rising");
        let [first, last] = [points[0], points[points.len() - 1]];
        let x = first.0 + along * (last.0 - first.0);
        let (y, slope) = curve.at(x);
        let right = points.iter().position(|point| point.0 >= x).unwrap_or(points.len() - 1).max(1);
        let slack = 1e-9 * last.1;
        prop_assert!(y >= points[right - 1].1 - slack && y <= points[right].1 + slack);
        let step = 1e-7 * last.0;
        let chord = (curve.at(x + step).0 - curve.at(x - step).0) / (2.0 * step);
        let inside = x - step > first.0 && x + step < last.0;
        let scale = last.1 / last.0 * 100.0;
        prop_assert!(slope >= -1e-9 * scale && (!inside || (slope - chord).abs() <= 1e-3 * (scale + slope)), "{slope} {chord}");
    }

    /// Any numbers at all: a refusal or a finite loss, never a panic.
    #[test]
    fn nothing_panics(numbers in prop::array::uniform8(prop::num::f64::ANY), flow in prop::num::f64::NORMAL) {
        let [a, b, c, d, e, f, g, h] = numbers;
        let elements = [
            Passage::new(a, b, vec![Bend::new(c, BendKind::Swept { radius_over_bore: d })]).ok().map(Element::Passage),
            Step::new(a, b).ok().map(Element::Step),
            Coil::new(c, d, e).ok().map(Element::Coil),
            LossTable::new(&[(a, b), (c, d), (e, f)]).ok().map(Element::Table),
            Coefficient::power(g, h, a).ok().map(Element::Coefficient),
            Pump::table(&[(a, b), (c, d), (e, f)]).ok().map(Element::Pump),
            Pump::three_points([(0.0, b), (c, d), (e, f)]).ok().map(Element::Pump),
        ];
        for element in elements.into_iter().flatten() {
            let loss = element.loss(flow, &water(), Side::High);
            prop_assert!(!loss.pa.is_nan(), "{element:?} at {flow:e}: {loss:?}");
        }
    }

    /// Circuits of numbers over a hundred powers of ten settle or say which loop does not; they never hang or panic.
    #[test]
    fn absurd_circuits_settle_or_say_so(powers in prop::collection::vec(-50.0..50.0_f64, 4), shut_off in -20.0..20.0_f64) {
        let mut network = Network::new(water());
        let points = [(0.0, 10_f64.powf(shut_off)), (1e-4, 0.0)];
        network.part("pump", "in", "out", vec![Element::Pump(Pump::table(&points).expect("falling"))]).expect("new");
        for (index, power) in powers.into_iter().enumerate() {
            let loss = Coefficient::square(1.0, 10_f64.powf(power)).expect("above zero");
            let (from, to) = [("out", "mid"), ("mid", "in"), ("mid", "in"), ("out", "in")][index];
            network.part(&format!("part {index}"), from, to, vec![Element::Coefficient(loss)]).expect("new");
        }
        if let Ok(outcome) = network.solve() {
            prop_assert!(outcome.parts.iter().all(|part| part.flow_m3_s.is_finite()));
        }
    }
}
