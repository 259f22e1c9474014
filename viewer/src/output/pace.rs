//! How long the program takes to its first frame, and how long the frames after it take: in scenes of growing size,
//! panels and all, while the eye goes round them.

use super::live::Live;
use super::offscreen::NotDrawn;
use crate::desk::{Asked, BadOpen, Desk};
use elbowroom::catalog::Catalog;
use elbowroom::layout::BodyKind;
use std::fmt::Write as _;
use std::process::Command;
use std::time::{Duration, Instant};

/// Frame times of one scene.
#[derive(Clone, Debug, PartialEq)]
pub struct Pace {
    /// What drew.
    pub device: String,
    /// Components in the scene.
    pub components: usize,
    /// Solids in the scene, those of panels included.
    pub solids: usize,
    /// From the start of the program until the device had drawn the first frame.
    pub start: Duration,
    /// From one frame to the next, shortest first; two may be under way on the device at once.
    pub frames: Vec<Duration>,
    /// Of each frame, what the program's own systems took, panels included, without drawing; shortest first.
    pub own: Vec<Duration>,
}

/// Components and solids of each of the scenes that are measured.
pub const CROWDS: [(usize, usize); 4] = [(1, 1), (10, 1), (100, 1), (100, 10)];

/// Turn of the eye from one frame to the next, in radians.
const TURN: f32 = 0.02;
/// Frames that are not counted, after everything is solved: the eye stands still and names find their places.
const WARM_UP: usize = 30;
/// How long the solver may take before frames are measured beside it.
const MOST_SOLVING: Duration = Duration::from_secs(60);

impl Pace {
    /// The frame time that a share of the frames, 0 to 1, stay within; zero if there are none.
    #[must_use]
    pub fn within(&self, share: f64) -> Duration {
        within(&self.frames, share)
    }

    /// Frames a second, from the mean frame time.
    #[must_use]
    pub fn per_second(&self) -> f64 {
        let total: Duration = self.frames.iter().sum();
        self.frames.len() as f64 / total.as_secs_f64()
    }
}

fn within(sorted: &[Duration], share: f64) -> Duration {
    let index = (sorted.len().saturating_sub(1) as f64 * share).round() as usize;
    sorted.get(index).copied().unwrap_or_default()
}

/// Runs the program on a desk for `time`, the eye going round; `started` is when the program was.
///
/// # Errors
/// When it cannot be drawn.
pub fn pace(desk: Desk, size: [u32; 2], time: Duration, started: Instant) -> Result<Pace, NotDrawn> {
    let bodies = desk.layout().bodies();
    let components = bodies.iter().filter(|body| body.kind == BodyKind::Component).count();
    let solids = bodies.iter().map(|body| body.solids.len()).sum();
    let mut live = Live::open(desk, size)?;
    live.finish()?;
    let start = started.elapsed();
    let until = Instant::now() + MOST_SOLVING;
    let mut still = 0;
    while still < WARM_UP && Instant::now() < until {
        live.frame()?;
        still = if live.is_solving() { 0 } else { still + 1 };
    }
    let (mut frames, mut own) = (Vec::new(), Vec::new());
    let mut last = Instant::now();
    let until = last + time;
    while last < until {
        live.turn(TURN);
        own.push(live.frame()?);
        let now = Instant::now();
        frames.push(now - last);
        last = now;
    }
    live.finish()?;
    frames.sort();
    own.sort();
    Ok(Pace { device: live.device(), components, solids, start, frames, own })
}

/// What stands over the lines of [`line`].
const HEADS: &str = "\
components  solids  start s  frames  frames/s  median ms  95 % ms  longest ms  own ms  memory MB  drawn by\n";

/// What the columns mean.
const MEANING: &str = "\
Start: from the start of the program to its first frame drawn, panels included; no screen is waited for. Then frame to
frame while the eye goes round, with up to two frames under way on the device and none read back. Own: the program's
systems without drawing, middle value. Memory: the most that the program has had. The first scene is the demo, solved.
";

/// Measures the demo and the scenes of [`CROWDS`], each in a program of its own, and says what was found in a table.
///
/// # Errors
/// When the program cannot be started again, or something cannot be drawn.
pub fn report(size: [u32; 2], time: Duration) -> Result<String, NotMeasured> {
    let program = std::env::current_exe().map_err(NotMeasured::NotStarted)?;
    let mut text = format!("{}x{}, {} s each\n{HEADS}", size[0], size[1], time.as_secs_f64());
    for scene in 0..=CROWDS.len() {
        let (size, time) = (format!("{}x{}", size[0], size[1]), time.as_secs_f64().to_string());
        let arguments = ["--measure", &time, "--size", &size, "--measure-scene", &scene.to_string()];
        let run = Command::new(&program).args(arguments).output().map_err(NotMeasured::NotStarted)?;
        if !run.status.success() {
            return Err(NotMeasured::Failed(String::from_utf8_lossy(&run.stderr).trim().to_owned()));
        }
        text += &String::from_utf8_lossy(&run.stdout);
    }
    Ok(text + MEANING)
}

/// Measures one scene: the demo for 0, else one of [`CROWDS`]. `started` is when the program was.
///
/// # Errors
/// When there is no such scene, or it cannot be drawn.
pub fn line(scene: usize, size: [u32; 2], time: Duration, started: Instant) -> Result<String, NotMeasured> {
    let crowd = match scene.checked_sub(1) {
        None => None,
        Some(index) => Some(CROWDS.get(index).ok_or(NotMeasured::NoSuchScene(scene))?),
    };
    let (name, text) = match crowd {
        None => (elbowroom_catalog::DEMO.0, elbowroom_catalog::DEMO.1.to_owned()),
        Some((components, each)) => ("crowd.ron", crowd_of(*components, *each)),
    };
    let desk = Desk::new(name, &text, Catalog::builtin(), Asked::default())?;
    let pace = pace(desk, size, time, started)?;
    let ms = |time: Duration| time.as_secs_f64() * 1e3;
    Ok(format!(
        "{:>10}  {:>6}  {:>7.2}  {:>6}  {:>8.1}  {:>9.2}  {:>7.2}  {:>10.2}  {:>6.2}  {:>9}  {}\n",
        pace.components,
        pace.solids,
        pace.start.as_secs_f64(),
        pace.frames.len(),
        pace.per_second(),
        ms(pace.within(0.5)),
        ms(pace.within(0.95)),
        ms(pace.within(1.0)),
        ms(within(&pace.own, 0.5)),
        most_memory_mb().map_or_else(|| "-".to_owned(), |mb| mb.to_string()),
        pace.device,
    ))
}

/// Why nothing was measured.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum NotMeasured {
    /// The program could not be started again.
    #[error("cannot start this program once more to measure it: {0}")]
    NotStarted(std::io::Error),
    /// The program that was to measure a scene failed.
    #[error("{0}")]
    Failed(String),
    /// There are fewer scenes.
    #[error("expected a scene from 0 to {most}, found {0}", most = CROWDS.len())]
    NoSuchScene(usize),
    /// The scene could not be opened.
    #[error(transparent)]
    NotOpened(#[from] BadOpen),
    /// It could not be drawn.
    #[error(transparent)]
    NotDrawn(#[from] NotDrawn),
}

/// The most memory that this program has had, where the system tells.
fn most_memory_mb() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    let kib: u64 = line.trim().strip_suffix("kB")?.trim().parse().ok()?;
    Some(kib * 1024 / 1_000_000)
}

/// A layout of components in rows, each of so many solids of all kinds.
#[must_use]
pub fn crowd_of(components: usize, solids_each: usize) -> String {
    let side = (components as f64).sqrt().ceil().max(1.0) as usize;
    let mut text = "(version: 1, name: \"A crowd\", components: [\n".to_owned();
    for component in 0..components {
        let (x, y) = ((component % side) as f64 * 60.0, (component / side) as f64 * 60.0);
        let solids: Vec<String> = (0..solids_each)
            .map(|solid| {
                let shape = match (component + solid) % 4 {
                    0 => "box(size: (20, 14, 10))",
                    1 => "cylinder(diameter: 16, length: 18)",
                    2 => "sphere(diameter: 15)",
                    _ => "capsule(diameter: 10, length: 12)",
                };
                let (column, row) = (solid % 2, solid / 2);
                format!("(shape: {shape}, at: ({}, 0, {}))", column as f64 * 22.0, row as f64 * 22.0 + 12.0)
            })
            .collect();
        let _ = writeln!(text, "(name: \"c{component}\", solids: [{}], at: ({x}, {y}, 0)),", solids.join(", "));
    }
    text + "])"
}

#[cfg(test)]
mod tests {
    use super::*;
    use elbowroom::layout::Layout;

    #[test]
    fn crowds_are_layouts_of_the_size_they_say() {
        for (components, each) in CROWDS {
            let layout = Layout::parse(&crowd_of(components, each), "crowd.ron", &Catalog::builtin());
            let layout = layout.unwrap_or_else(|bad| panic!("{bad}"));
            assert_eq!(layout.bodies().len(), components);
            assert_eq!(layout.bodies().iter().map(|body| body.solids.len()).sum::<usize>(), components * each);
        }
    }

    #[test]
    fn shares_of_frames_are_read_off_in_order() {
        let frames: Vec<Duration> = (1..=101).map(Duration::from_millis).collect();
        let pace =
            Pace { device: String::new(), components: 1, solids: 1, start: Duration::ZERO, frames, own: Vec::new() };
        assert_eq!(pace.within(0.5), Duration::from_millis(51));
        assert_eq!(pace.within(0.95), Duration::from_millis(96));
        assert!((pace.per_second() - 1.0 / 0.051).abs() < 0.1);
    }
}
