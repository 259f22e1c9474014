//! The command line.

use crate::desk::{
    Asked,
    view::{Axis, Section},
};
use crate::look::eye::View;
use clap::{Args, Parser, builder::PossibleValue};
use elbowroom::bridge::MOST_PARTS;
use std::path::PathBuf;

/// Shows a layout in 3D: what fits, what touches, and how chains of fittings go together.
///
/// Without an option that names an output file it opens a window. Pictures, frames and models are made without any
/// window, the same on every run.
#[derive(Clone, Debug, Parser)]
#[command(name = "elbowroom-viewer", version, max_term_width = 100)]
pub struct Arguments {
    /// Layout file, RON or JSON; the built-in demo when left out.
    pub layout: Option<PathBuf>,
    /// Adds a catalog of your own to the built-in one; may be given several times.
    #[arg(long, value_name = "FILE")]
    pub catalog: Vec<PathBuf>,
    /// What is asked of every gap.
    #[command(flatten)]
    pub search: SearchArguments,
    /// The gap to look at, by its two ports.
    #[arg(long, value_name = "FROM,TO", value_parser = two_ports)]
    pub gap: Option<[String; 2]>,
    /// The chain to look at, by its place in the ranking; when left out the best that can be built
    /// beside those of the other gaps.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..))]
    pub chain: Option<u16>,
    /// How the scene is looked at.
    #[command(flatten)]
    pub look: LookArguments,
    /// What is written instead of opening a window.
    #[command(flatten)]
    pub output: OutputArguments,
}

/// What is asked of every gap: the same options as those of `elbowroom bridge`.
#[derive(Args, Clone, Debug)]
pub struct SearchArguments {
    /// Longest chain to consider, in parts.
    #[arg(long, value_name = "N", default_value_t = 4, value_parser = clap::value_parser!(u8).range(1..=MOST_PARTS as i64))]
    pub max_parts: u8,
    /// How many chains to find for each gap.
    #[arg(long, value_name = "N", default_value_t = 5, value_parser = clap::value_parser!(u16).range(1..=1_000))]
    pub want: u16,
    /// Least clearance, in millimetres; the layout's allowance when left out.
    #[arg(long, value_name = "MM", allow_negative_numbers = true, value_parser = clearance)]
    pub clearance: Option<f64>,
    /// Flow for which losses are stated, in litres a minute; the layout's design flow when left out.
    #[arg(long, value_name = "L_MIN", allow_negative_numbers = true, value_parser = flow)]
    pub flow: Option<f64>,
}

/// How the scene is looked at.
#[derive(Args, Clone, Debug)]
pub struct LookArguments {
    /// From where.
    #[arg(long, value_name = "VIEW", default_value = "isometric", value_parser = view())]
    pub view: View,
    /// Dark lines on light ground.
    #[arg(long)]
    pub light: bool,
    /// Leaves the covers out.
    #[arg(long)]
    pub covers_off: bool,
    /// Lifts the covers, each the way it comes off.
    #[arg(long, conflicts_with = "covers_off")]
    pub covers_lifted: bool,
    /// Makes all but the chain see-through.
    #[arg(long)]
    pub see_through: bool,
    /// Cuts the scene open across an axis, such as `x=120`: what lies below is kept, or above with `x=120,above`.
    #[arg(long, value_name = "AXIS=MM[,above]", value_parser = section)]
    pub cut: Option<Section>,
    /// Size of text in the window, as a multiple of its normal size.
    #[arg(long, value_name = "FACTOR", default_value_t = 1.0, value_parser = text_scale)]
    pub text_scale: f32,
}

/// What is written instead of opening a window.
#[derive(Args, Clone, Debug)]
pub struct OutputArguments {
    /// Writes one picture of the scene.
    #[arg(long, value_name = "FILE.png")]
    pub picture: Option<PathBuf>,
    /// Writes the making up of the chain as numbered pictures into a folder.
    #[arg(long, value_name = "DIR")]
    pub frames: Option<PathBuf>,
    /// Pictures a second.
    #[arg(long, value_name = "N", default_value_t = 30, requires = "frames", value_parser = clap::value_parser!(u16).range(1..=240))]
    pub fps: u16,
    /// Writes the scene with the chain as a binary glTF model, in metres.
    #[arg(long, value_name = "FILE.glb")]
    pub model: Option<PathBuf>,
    /// Opens the window, writes a picture of it with its panels once every gap is solved, and closes it.
    #[arg(long, value_name = "FILE.png", conflicts_with_all = ["picture", "frames", "model"])]
    pub window_picture: Option<PathBuf>,
    /// Measures how long frames of scenes of growing size take, for so many seconds each, and says so.
    #[arg(long, value_name = "SECONDS", hide = true, value_parser = seconds)]
    pub measure: Option<f64>,
    /// Opens the window, measures for so many seconds what it draws once every gap is solved and nothing happens, says so,
    /// and closes it.
    #[arg(long, value_name = "SECONDS", hide = true, value_parser = seconds)]
    pub measure_rest: Option<f64>,
    /// Measures how fast answers follow each component of the demo that is dragged, and says so.
    #[arg(long, hide = true)]
    pub measure_drag: bool,
    /// Measures one scene only, by its number from 0, and says it in a line: what `--measure` starts for each, so that
    /// every scene has a program of its own.
    #[arg(long, value_name = "N", hide = true, requires = "measure")]
    pub measure_scene: Option<usize>,
    /// Width and height in pixels: of pictures 1280x720 when left out, of the window 1440x900.
    #[arg(long, value_name = "WxH", value_parser = size)]
    pub size: Option<Size>,
}

/// Width and height in pixels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Size {
    /// Width.
    pub width: u32,
    /// Height.
    pub height: u32,
}

impl Arguments {
    /// Whether something is to be written and no window opened.
    #[must_use]
    pub fn writes(&self) -> bool {
        self.output.picture.is_some() || self.output.frames.is_some() || self.output.model.is_some()
    }

    /// Width and height of pictures, or of the window, in pixels.
    #[must_use]
    pub fn size(&self) -> [u32; 2] {
        let otherwise = if self.writes() || self.output.measure.is_some() { [1280, 720] } else { [1440, 900] };
        self.output.size.map_or(otherwise, |size| [size.width, size.height])
    }

    /// What is asked of every gap.
    #[must_use]
    pub fn asked(&self) -> Asked {
        let SearchArguments { max_parts, want, clearance, flow } = self.search;
        Asked { max_parts: max_parts.into(), want: want.into(), clearance_mm: clearance, flow_l_min: flow }
    }
}

/// Least and greatest side of a picture: what graphics cards can draw at once.
const SIDES: std::ops::RangeInclusive<u32> = 16..=8_192;

fn two_ports(text: &str) -> Result<[String; 2], String> {
    match text.split(',').map(str::trim).collect::<Vec<_>>()[..] {
        [from, to] if !from.is_empty() && !to.is_empty() => Ok([from.to_owned(), to.to_owned()]),
        _ => Err("expected two ports with a comma between them, such as `pump.outlet,filter.inlet`".to_owned()),
    }
}

fn size(text: &str) -> Result<Size, String> {
    let sides = text.split_once('x').and_then(|(width, height)| Some((width.parse().ok()?, height.parse().ok()?)));
    match sides {
        Some((width, height)) if SIDES.contains(&width) && SIDES.contains(&height) => Ok(Size { width, height }),
        _ => Err(format!("expected width and height from {} to {}, such as 1280x720", SIDES.start(), SIDES.end())),
    }
}

fn section(text: &str) -> Result<Section, String> {
    let (plane, keep_above) = match text.trim().strip_suffix(",above") {
        Some(plane) => (plane, true),
        None => (text.trim(), false),
    };
    let read = || {
        let (axis, at) = plane.split_once('=')?;
        let axis = Axis::ALL.into_iter().find(|known| known.name() == axis.trim())?;
        let at_mm = at.trim().parse().ok().filter(|at: &f64| at.is_finite())?;
        Some(Section { axis, at_mm, keep_above })
    };
    read().ok_or_else(|| "expected an axis and a place on it in mm, such as `x=120` or `z=60,above`".to_owned())
}

fn clearance(text: &str) -> Result<f64, String> {
    number(text, 0.0, 100.0, "mm")
}

fn flow(text: &str) -> Result<f64, String> {
    number(text, 0.01, 1000.0, "L/min")
}

fn seconds(text: &str) -> Result<f64, String> {
    number(text, 0.1, 600.0, "s")
}

fn text_scale(text: &str) -> Result<f32, String> {
    let scales = crate::desk::view::TEXT_SCALES;
    let scale = number(text, f64::from(*scales.start()), f64::from(*scales.end()), "multiples of the normal size")?;
    Ok(scale as f32)
}

fn number(text: &str, least: f64, most: f64, unit: &str) -> Result<f64, String> {
    match text.trim().parse::<f64>() {
        Ok(value) if (least..=most).contains(&value) => Ok(value),
        _ => Err(format!("expected a number from {least} to {most}, in {unit}")),
    }
}

/// Reads a standard view, and lists them all in the help.
fn view() -> impl clap::builder::TypedValueParser<Value = View> {
    use clap::builder::{PossibleValuesParser, TypedValueParser as _};
    let words = PossibleValuesParser::new(View::ALL.map(|view| PossibleValue::new(view.word())));
    words.map(|word| View::ALL.into_iter().find(|view| view.word() == word).unwrap_or(View::Isometric))
}

#[cfg(test)]
mod tests {
    use super::Arguments;
    use crate::desk::Asked;
    use crate::look::eye::View;
    use clap::{CommandFactory as _, Parser as _};

    fn read(words: &[&str]) -> Result<Arguments, String> {
        Arguments::try_parse_from([&["elbowroom-viewer"], words].concat()).map_err(|error| error.to_string())
    }

    #[test]
    fn the_command_line_is_sound() {
        Arguments::command().debug_assert();
    }

    #[test]
    fn nothing_given_opens_the_demo_in_a_window() {
        let arguments = read(&[]).unwrap();
        assert!(arguments.layout.is_none() && !arguments.writes());
        assert_eq!(arguments.asked(), Asked::default());
        assert_eq!((arguments.look.view, arguments.size()), (View::Isometric, [1440, 900]));
        assert_eq!(read(&["--size", "800x600"]).unwrap().size(), [800, 600]);
    }

    #[test]
    fn frames_of_one_chain_are_asked_for() {
        let words =
            ["boat.ron", "--frames", "out", "--gap", "pump.outlet, filter.inlet", "--chain", "2", "--fps", "12"];
        let arguments = read(&words).unwrap();
        assert!(arguments.writes());
        assert_eq!(arguments.gap, Some(["pump.outlet".to_owned(), "filter.inlet".to_owned()]));
        assert_eq!((arguments.chain, arguments.output.fps), (Some(2), 12));
        assert_eq!(arguments.size(), [1280, 720]);
    }

    #[test]
    fn what_makes_no_sense_is_refused_with_what_was_expected() {
        for (words, expected) in [
            (&["--gap", "pump.outlet"][..], "two ports with a comma"),
            (&["--chain", "0"], "0"),
            (&["--max-parts", "99"], "1..="),
            (&["--cut", "w=3"], "such as `x=120`"),
            (&["--text-scale", "9"], "from 0.75 to 2"),
            (&["--covers-off", "--covers-lifted"], "cannot be used with"),
            (&["--size", "big"], "such as 1280x720"),
            (&["--size", "9000x10"], "from 16 to 8192"),
            (&["--view", "inside"], "isometric"),
            (&["--fps", "30"], "--frames"),
            (&["--clearance", "-1"], "from 0 to 100"),
        ] {
            let error = read(words).unwrap_err();
            assert!(error.contains(expected), "{words:?}: {error}");
        }
    }
}
