use super::{Four, Pieces, Reached, Three};
use crate::bridge::closure::{Allowance, Bow, Line, skeleton::Frame};
use crate::geometry::Vector;
use std::f64::consts::TAU;

/// Numbers between 0 and 1 that repeat on every run.
struct Dice(u64);

impl Dice {
    fn roll(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        #[expect(clippy::cast_precision_loss, reason = "53 bits fit")]
        let share = (self.0 >> 11) as f64 / (1_u64 << 53) as f64;
        share
    }

    fn between(&mut self, least: f64, most: f64) -> f64 {
        least + (most - least) * self.roll()
    }

    fn one_of<T: Copy>(&mut self, of: &[T]) -> T {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            clippy::cast_precision_loss,
            reason = "small"
        )]
        let index = (self.roll() * of.len() as f64) as usize;
        of[index.min(of.len() - 1)]
    }

    fn direction(&mut self) -> Vector {
        loop {
            let tried = Vector::from_fn(|_, _| self.between(-1.0, 1.0));
            if (0.1..1.0).contains(&tried.norm()) {
                return tried.normalize();
            }
        }
    }

    /// Any turn, or one that folds or stretches the chain, or nearly.
    fn turn(&mut self) -> f64 {
        let eighths = (self.roll() * 8.0).floor() / 8.0 * TAU;
        match self.roll() {
            kind if kind < 0.5 => self.roll() * TAU,
            kind if kind < 0.6 => eighths,
            _ => eighths + self.one_of(&[-1.0, 1.0]) * 10_f64.powf(self.between(-6.0, -0.5)),
        }
    }

    fn bend(&mut self) -> f64 {
        let tried = self.between(5.0, 170.0);
        self.one_of(&[30.0, 45.0, 60.0, 90.0, 90.0, tried]).to_radians()
    }
}

/// A chain in a posture, and a second port that it closes at within the allowance.
struct Planted {
    ports: [Line; 2],
    allowance: Allowance,
    /// From port to corner to corner to port.
    lengths: Vec<f64>,
    bends: Vec<(f64, f64)>,
    corners: Vec<Vector>,
}

fn planted(count: usize, seed: u64) -> Planted {
    let mut dice = Dice(seed);
    (0..4).for_each(|_| _ = dice.roll());
    let from = Line { at: [3.0, -5.0, 8.0].into(), towards: Vector::z(), mark: Vector::x() };
    let allowance = dice.one_of(&[
        Allowance { mm: 0.3, rad: 0.5_f64.to_radians() },
        Allowance { mm: 2.0, rad: 3.0_f64.to_radians() },
        Allowance { mm: 0.01, rad: 0.01_f64.to_radians() },
    ]);
    let lengths: Vec<f64> = (0..=count).map(|_| dice.between(8.0, 60.0)).collect();
    let bends: Vec<(f64, f64)> = (0..count).map(|_| dice.bend()).map(|angle| (angle.cos(), angle.sin())).collect();
    let mut frame = Frame::at(&from);
    let mut corners = Vec::new();
    for (index, (cos, sin)) in bends.iter().enumerate() {
        frame.advance(lengths[index]);
        corners.push(frame.at);
        frame.turn(dice.turn());
        (frame.x, frame.z) = (frame.x * *cos - frame.z * *sin, frame.z * *cos + frame.x * *sin);
    }
    frame.advance(lengths[count]);
    // Often the whole of both allowances is used.
    let mut share = || if dice.roll() < 0.5 { 1.0 - 1e-9 } else { dice.roll() };
    let (miss, lean) = (share() * allowance.mm, share() * allowance.rad);
    let about = frame.z.cross(&dice.direction()).normalize();
    let towards = -(frame.z * lean.cos() + about.cross(&frame.z) * lean.sin());
    let to = Line { at: (frame.at + dice.direction() * miss).into(), towards, mark: about };
    Planted { ports: [from, to], allowance, lengths, bends, corners }
}

fn holds(reached: &Reached, corner: &Vector) -> bool {
    (reached.at - corner).norm() <= reached.off_mm
}

/// How far around at most the pieces are.
fn widest(pieces: &Pieces) -> f64 {
    pieces.iter().map(|reached| reached.off_mm).fold(0.0, f64::max)
}

#[test]
fn the_second_corner_of_three_is_where_it_is_said_to_be() {
    let mut told = 0;
    for seed in 0..40_000 {
        let Planted { ports: [from, to], allowance, lengths, bends, corners } = planted(3, seed);
        let chain = Three::new([&from, &to], &allowance, [0, 1, 2, 3].map(|i| lengths[i]), [0, 1, 2].map(|i| bends[i]));
        let Some(chain) = chain else { continue };
        told += 1;
        assert!((chain.corners[0] - corners[0]).norm() < 1e-9, "seed {seed}");
        assert!((chain.corners[1] - corners[2]).norm() <= chain.last_off_mm, "seed {seed}");
        assert!(chain.second.iter().any(|reached| holds(reached, &corners[1])), "seed {seed}: {corners:?}");
        assert!(widest(&chain.second) < 2.0, "seed {seed}");
    }
    assert!(told > 15_000, "something was said of {told} only");
}

#[test]
fn the_inner_corners_of_four_are_where_they_are_said_to_be() {
    let mut told = 0;
    for seed in 0..40_000 {
        let Planted { ports: [from, to], allowance, lengths, bends, corners } = planted(4, seed);
        let bow = Bow { lengths: [1, 2, 3].map(|i| lengths[i]), bends: [1, 2].map(|i| bends[i]) };
        let chain = Four::new([&from, &to], &allowance, [lengths[0], lengths[4]], bow, [bends[0], bends[3]]);
        let Some(chain) = chain else { continue };
        told += 1;
        assert!((chain.corners[0] - corners[0]).norm() < 1e-9, "seed {seed}");
        assert!((chain.corners[1] - corners[3]).norm() <= chain.last_off_mm, "seed {seed}");
        let ways = chain.second.iter().flat_map(|second| chain.third.iter().map(move |third| (second, third)));
        let mut ways = ways.filter(|(second, third)| chain.go_together(second, third));
        let is_told = ways.any(|(second, third)| holds(second, &corners[1]) && holds(third, &corners[2]));
        assert!(is_told, "seed {seed}: {corners:?}");
        assert!(widest(&chain.second).max(widest(&chain.third)) < 12.0, "seed {seed}");
    }
    assert!(told > 15_000, "something was said of {told} only");
}
