//! How long frames take: scenes of growing size, drawn without a window while the eye goes round them.

use super::offscreen::{NotDrawn, Offscreen};
use super::picture::NotMade;
use crate::desk::Stage;
use crate::look::eye::View;
use crate::scene::Subject;
use elbowroom::{catalog::Catalog, interference, layout::Layout};
use std::fmt::Write;
use std::sync::Arc;
use std::time::{Duration, Instant};

/// Frame times of one scene.
#[derive(Clone, Debug, PartialEq)]
pub struct Pace {
    /// Components in the scene.
    pub components: usize,
    /// Solids in the scene, those of panels included.
    pub solids: usize,
    /// How long each frame took, from the change of the eye to the finished picture on the device, shortest first.
    pub frames: Vec<Duration>,
}

/// Components and solids of each of the scenes that are measured.
pub const CROWDS: [(usize, usize); 4] = [(1, 1), (10, 1), (100, 1), (100, 10)];

/// Turn of the eye from one frame to the next, in radians.
const TURN: f32 = 0.02;
/// Frames that are not counted, because the device is still being set up.
const WARM_UP: usize = 5;

impl Pace {
    /// The frame time that a share of the frames, 0 to 1, stay within; zero if there are none.
    #[must_use]
    pub fn within(&self, share: f64) -> Duration {
        let index = (self.frames.len().saturating_sub(1) as f64 * share).round() as usize;
        self.frames.get(index).copied().unwrap_or_default()
    }

    /// Frames a second, from the mean frame time.
    #[must_use]
    pub fn per_second(&self) -> f64 {
        let total: Duration = self.frames.iter().sum();
        self.frames.len() as f64 / total.as_secs_f64()
    }
}

/// Draws a layout for `time`.
///
/// # Errors
/// When it cannot be drawn.
pub fn pace(layout: Layout, size: [u32; 2], time: Duration) -> Result<Pace, NotDrawn> {
    let mut offscreen = Offscreen::new(size)?;
    let components = layout.bodies().iter().filter(|body| body.kind == elbowroom::layout::BodyKind::Component).count();
    let solids = layout.bodies().iter().map(|body| body.solids.len()).sum();
    let findings = Arc::new(interference::check(&layout));
    let mut on_stage = offscreen.stage();
    on_stage.stage = Stage::default();
    on_stage.subject = Some(Subject {
        layout: Arc::new(layout),
        catalog: Arc::new(Catalog::builtin()),
        gap: None,
        chain: None,
        findings,
    });
    offscreen.aim(|eye, bounds, aspect| {
        eye.look_from(View::Isometric);
        eye.fit(bounds, aspect);
    });
    offscreen.picture()?;
    let mut frames = Vec::new();
    let until = Instant::now() + time;
    let mut warming = WARM_UP;
    while Instant::now() < until || frames.is_empty() {
        let start = Instant::now();
        offscreen.turn(TURN);
        match warming.checked_sub(1) {
            Some(left) => warming = left,
            None => frames.push(start.elapsed()),
        }
    }
    frames.sort();
    Ok(Pace { components, solids, frames })
}

/// Measures the scenes of [`CROWDS`] and says what was found in a table; `device` is what drew.
///
/// # Errors
/// When they cannot be drawn.
pub fn report(size: [u32; 2], time: Duration, device: &str) -> Result<String, NotMade> {
    let mut text = format!("{}x{} on {device}\n", size[0], size[1]);
    text += "components  solids  frames  frames/s  median ms  95 % within ms\n";
    for (components, each) in CROWDS {
        let layout = Layout::parse(&crowd(components, each), "crowd.ron", &Catalog::builtin());
        // The text is made here, so it has no faults that a user could mend; a scene without it is left out.
        let Ok(layout) = layout else { continue };
        let pace = pace(layout, size, time)?;
        let ms = |share: f64| pace.within(share).as_secs_f64() * 1e3;
        // Writing to a string does not fail.
        let _ = writeln!(
            text,
            "{:>10}  {:>6}  {:>6}  {:>8.1}  {:>9.2}  {:>14.2}",
            pace.components,
            pace.solids,
            pace.frames.len(),
            pace.per_second(),
            ms(0.5),
            ms(0.95)
        );
    }
    Ok(text)
}

/// A layout of components in rows, each of so many solids of all kinds.
#[must_use]
pub fn crowd(components: usize, solids_each: usize) -> String {
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

    #[test]
    fn crowds_are_layouts_of_the_size_they_say() {
        for (components, each) in CROWDS {
            let layout = Layout::parse(&crowd(components, each), "crowd.ron", &Catalog::builtin());
            let layout = layout.unwrap_or_else(|bad| panic!("{bad}"));
            assert_eq!(layout.bodies().len(), components);
            assert_eq!(layout.bodies().iter().map(|body| body.solids.len()).sum::<usize>(), components * each);
        }
    }

    #[test]
    fn shares_of_frames_are_read_off_in_order() {
        let frames: Vec<Duration> = (1..=101).map(Duration::from_millis).collect();
        let pace = Pace { components: 1, solids: 1, frames };
        assert_eq!(pace.within(0.5), Duration::from_millis(51));
        assert_eq!(pace.within(0.95), Duration::from_millis(96));
        assert!((pace.per_second() - 1.0 / 0.051).abs() < 0.1);
    }
}
