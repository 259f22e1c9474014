//! Single pictures and films of a desk's scene as PNG files.

use super::glb::glb;
use super::offscreen::{NotDrawn, Offscreen};
use crate::desk::{Desk, Stage};
use crate::follow::{Followed, shown};
use crate::look::{Section, Show, controls::AROUND_GAP_MM, eye::View, measure::Measured, palette::Palette};
use crate::scene::{Subject, cast, drawings::Drawings};
use bevy::math::Vec3;
use image::{
    RgbImage,
    codecs::png::{CompressionType, FilterType, PngEncoder},
};
use std::io::Cursor;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// How a picture is taken.
#[derive(Clone, Debug, PartialEq)]
pub struct Shot {
    /// From where.
    pub view: View,
    /// Width and height in pixels.
    pub size: [u32; 2],
    /// As drawings are made, instead of as the eye sees.
    pub parallel: bool,
    /// The gap fills the picture instead of the whole machine.
    pub close: bool,
    /// How the scene is shown.
    pub show: Show,
}

/// What keeps a picture or film from being made.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum NotMade {
    /// It could not be drawn.
    #[error(transparent)]
    NotDrawn(#[from] NotDrawn),
    /// It could not be written.
    #[error("cannot write {}: {why}; choose a folder that exists and may be written to", path.display())]
    NotWritten {
        /// The file or folder.
        path: PathBuf,
        /// What the system says.
        why: std::io::Error,
    },
    /// It could not be packed.
    #[error("cannot pack the picture as PNG: {0}")]
    NotPacked(#[from] image::ImageError),
    /// The two ports are not a gap of the layout.
    #[error("expected one of the layout's gaps, found {from},{to}; the layout has {known}")]
    NoSuchGap {
        /// The first name asked for.
        from: String,
        /// The second.
        to: String,
        /// The gaps there are.
        known: String,
    },
    /// The gap has fewer chains.
    #[error("expected a chain from 1 to {found}, found {wanted}; the gap has {found} chains among the best looked for")]
    NoSuchChain {
        /// The number asked for, from 1.
        wanted: usize,
        /// How many there are.
        found: usize,
    },
    /// There is nothing to play.
    #[error(
        "no chain bridges this gap, so there is no making up to show; `elbowroom bridge --near` says what comes nearest"
    )]
    NoChain,
    /// Solving took too long.
    #[error("the gaps were not solved within {0} s; ask for shorter chains with --max-parts")]
    NotSolved(u64),
}

/// How long solving may take before a picture is given up, in seconds.
const PATIENCE_S: u64 = 600;

/// Chooses a gap by the full names of its ports, waits for the solver, and chooses a chain by its number from 1; where
/// that is `None`, the one that can be built beside those of the other gaps.
///
/// # Errors
/// When there is no such gap or chain, or solving takes too long.
pub fn choose(desk: &mut Desk, ports: Option<(&str, &str)>, chain: Option<usize>) -> Result<(), NotMade> {
    if let Some(ports) = ports {
        look_at(desk, ports)?;
    }
    // All gaps, since their chains stand in the picture as well.
    desk.solve();
    if !desk.wait(Duration::from_secs(PATIENCE_S)) {
        return Err(NotMade::NotSolved(PATIENCE_S));
    }
    let Some(wanted) = chain else { return Ok(()) };
    let found = desk.gap().and_then(|gap| desk.solved(gap)).map_or(0, |solved| solved.ranked().len());
    let index = wanted.checked_sub(1).filter(|index| *index < found);
    desk.choose_chain(index.ok_or(NotMade::NoSuchChain { wanted, found })?);
    Ok(())
}

/// Looks at the gap between two ports, named in full and in either order.
///
/// # Errors
/// When there is no such gap.
pub fn look_at(desk: &mut Desk, (from, to): (&str, &str)) -> Result<(), NotMade> {
    let layout = desk.layout();
    let named = |id| layout.port_by_id(id).map_or("", |port| port.name.as_str());
    let gaps: Vec<(&str, &str)> = layout.gaps().iter().map(|gap| (named(gap.from), named(gap.to))).collect();
    let found = gaps.iter().position(|(a, b)| (*a, *b) == (from, to) || (*a, *b) == (to, from));
    let Some(index) = found else {
        let known = gaps.iter().map(|(a, b)| format!("{a},{b}")).collect::<Vec<_>>().join(" ");
        return Err(NotMade::NoSuchGap { from: from.to_owned(), to: to.to_owned(), known });
    };
    desk.choose_gap(index);
    Ok(())
}

/// Draws the desk's scene at the moment that is played. Where the gap fills the picture, what stands before its chain is
/// faded.
///
/// # Errors
/// When it cannot be drawn.
pub fn draw(desk: &Desk, shot: &Shot) -> Result<RgbImage, NotMade> {
    let mut studio = Studio::new(desk, shot)?;
    if shot.close {
        studio.offscreen.fade();
    }
    Ok(studio.take(desk.stage())?)
}

/// Draws the making up of the chosen chain, `fps` pictures a second, and hands over each with its number, from 0, and
/// the number of the last. The pictures are the same on every run on the same driver.
///
/// # Errors
/// When there is no chain, it cannot be drawn, or `take` fails.
pub fn film(
    desk: &Desk,
    shot: &Shot,
    fps: f64,
    mut take: impl FnMut(usize, usize, RgbImage) -> Result<(), NotMade>,
) -> Result<(), NotMade> {
    if desk.chain().is_none() {
        return Err(NotMade::NoChain);
    }
    let timeline = desk.timeline();
    let last = (timeline.seconds() * fps).ceil() as usize;
    let mut studio = Studio::new(desk, shot)?;
    for number in 0..=last {
        take(number, last, studio.take(timeline.at((number as f64 / fps).min(timeline.seconds())))?)?;
    }
    Ok(())
}

/// The desk's scene at the moment that is played, as the bytes of a `.glb` file.
#[must_use]
pub fn model(desk: &Desk, show: &Show) -> Vec<u8> {
    // What would stand if something were different is no part of the model.
    let subject = Subject { near: None, ..Followed::default().subject(desk) };
    let show = Show { hidden: shown(desk).hidden, ..show.clone() };
    let actors = cast::cast(&subject, &desk.stage(), &show, &mut Drawings::default());
    glb(desk.layout().name(), &actors, &Palette::new(show.dark))
}

/// Writes a picture as PNG.
///
/// # Errors
/// When the system refuses.
pub fn write(image: &RgbImage, path: &Path) -> Result<(), NotMade> {
    let mut bytes = Cursor::new(Vec::new());
    image.write_with_encoder(PngEncoder::new_with_quality(&mut bytes, CompressionType::Best, FilterType::Adaptive))?;
    write_bytes(&bytes.into_inner(), path)
}

/// Writes a file whole.
///
/// # Errors
/// When the system refuses.
pub fn write_bytes(bytes: &[u8], path: &Path) -> Result<(), NotMade> {
    std::fs::write(path, bytes).map_err(|why| NotMade::NotWritten { path: path.to_owned(), why })
}

/// Makes a folder for a film, if it is not there.
///
/// # Errors
/// When the system refuses.
pub fn make_folder(path: &Path) -> Result<(), NotMade> {
    std::fs::create_dir_all(path).map_err(|why| NotMade::NotWritten { path: path.to_owned(), why })
}

/// Where frame `number` goes in a film's folder.
#[must_use]
pub fn frame_file(folder: &Path, number: usize) -> PathBuf {
    folder.join(format!("frame-{number:05}.png"))
}

/// The scene set up for pictures of one size.
pub struct Studio {
    offscreen: Offscreen,
    close: Option<[Vec3; 2]>,
}

impl Studio {
    /// Sets the desk's scene up as a shot wants it.
    ///
    /// # Errors
    /// When it cannot be drawn.
    pub fn new(desk: &Desk, shot: &Shot) -> Result<Self, NotDrawn> {
        let mut offscreen = Offscreen::new(shot.size)?;
        let subject = Followed::default().subject(desk);
        let close = shot.close.then(|| neighbourhood(&subject, desk)).flatten();
        let mut on_stage = offscreen.stage();
        on_stage.stage = Stage::home(desk.chain());
        on_stage.subject = Some(subject);
        *offscreen.show() = Show { hidden: shown(desk).hidden, ..shot.show.clone() };
        let mut studio = Self { offscreen, close };
        studio.offscreen.aim(|eye, _, _| eye.parallel = shot.parallel);
        studio.look_from(shot.view);
        Ok(studio)
    }

    /// Looks from another side.
    pub fn look_from(&mut self, view: View) {
        let close = self.close;
        self.offscreen.aim(|eye, bounds, aspect| {
            eye.look_from(view);
            eye.fit(close.unwrap_or(bounds), aspect);
        });
    }

    /// Cuts the scene open, or closes it again.
    pub fn cut(&mut self, section: Option<Section>) {
        self.offscreen.show().section = section;
    }

    /// Measures between what is seen at two places of the scene; `None` where nothing is seen.
    pub fn measure(&mut self, places: [Vec3; 2]) -> Option<Measured> {
        let mut seen = [None; 2];
        self.offscreen.aim(|eye, _, _| seen = places.map(|place| eye.on_screen(place)));
        let [Some(first), Some(second)] = seen else { return None };
        self.offscreen.measure([first, second])
    }

    /// The picture of a moment.
    ///
    /// # Errors
    /// When the device does not give it back.
    pub fn take(&mut self, stage: Stage) -> Result<RgbImage, NotDrawn> {
        self.offscreen.stage().stage = stage;
        self.offscreen.picture()
    }
}

/// The box around the chain that is shown, or the two ports of the gap, with some room.
fn neighbourhood(subject: &Subject, desk: &Desk) -> Option<[Vec3; 2]> {
    let actors = cast::cast(subject, &Stage::home(desk.chain()), &Show::default(), &mut Drawings::default());
    cast::gap_bounds(subject, &actors).map(|[low, high]| [low - AROUND_GAP_MM, high + AROUND_GAP_MM])
}
