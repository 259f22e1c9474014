//! The command line, as clap reads it: one source for parsing, help, completions and the manual page.

use clap::{
    Args, Parser, Subcommand, ValueEnum, ValueHint,
    builder::{PossibleValuesParser, TypedValueParser},
};
use elbowroom::{bridge::MOST_PARTS, report::RankBy};
use std::path::PathBuf;

/// Finds the fittings that join tightly spaced ports, and proves it when nothing fits.
#[derive(Debug, Parser)]
#[command(
    name = "elbowroom",
    version,
    about = "Finds the fittings that join tightly spaced ports, and proves it when nothing fits",
    long_about = "Finds the fittings that join two tightly spaced ports of a liquid-cooled machine, shows that \
                  they fit between everything else that is built in, and proves it when nothing fits.\n\n\
                  Without a command it checks and bridges the built-in demo layout.",
    after_long_help = after_help(),
    max_term_width = 100,
    disable_help_subcommand = true
)]
pub(crate) struct Cli {
    /// What to do; the built-in demo when left out.
    #[command(subcommand)]
    pub(crate) command: Option<Command>,
    /// Options that every command takes.
    #[command(flatten, next_help_heading = "Options of all commands")]
    pub(crate) common: Common,
}

/// What each exit code says.
pub(crate) const EXIT_CODES: [(u8, &str); 6] = [
    (0, "everything fits; every gap asked for has a chain, and the list is proven"),
    (1, "something does not fit, or a gap is proven to have no chain of up to --max-parts"),
    (2, "bad input: the command line, a file, or an output that must not be replaced"),
    (3, "no proof: stopped, sampled without finding a chain, or no chain can be made up"),
    (70, "internal fault: a defect of this program"),
    (130, "ended at once by Ctrl-C: a second one during a search, or one while nothing was searched"),
];

/// How the exit codes of several gaps make one.
pub(crate) const SEVERAL_GAPS: &str = "When gaps end differently, the code is 1 if any is proven to have no chain, else 3 \
    if any has no proof, else 0. The built-in demo ends with 0: its one impossible gap is there to be shown.";

/// What goes in and what comes out.
pub(crate) const FILES: &str = "Layouts and catalogs are RON, or JSON of the same shape; `-` reads standard input. \
    Results go to standard output or to the file given with `--output`; messages go to standard error. Setting the \
    environment variable NO_COLOR turns colours off. Lengths are in millimetres, angles in degrees, flow in litres a \
    minute, pressure in kilopascals.";

/// Everything about use that belongs to no single option.
fn after_help() -> String {
    let codes: String = EXIT_CODES.iter().map(|(code, meaning)| format!("  {code:>3}  {meaning}\n")).collect();
    format!("Exit codes:\n{codes}{SEVERAL_GAPS}\n\n{FILES}")
}

/// Options that every command takes.
#[derive(Args, Debug)]
pub(crate) struct Common {
    /// How results are written; a layout, script or manual page that is asked for has one form only.
    #[arg(long, global = true, value_enum, default_value_t = Format::Text)]
    pub(crate) format: Format,
    /// Adds a catalog of your own to the built-in one; may be given several times.
    #[arg(long, global = true, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub(crate) catalog: Vec<PathBuf>,
    /// Writes results to FILE instead of standard output.
    #[arg(long, short, global = true, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub(crate) output: Option<PathBuf>,
    /// Lets `--output`, `--plot` and `--list` replace a file that exists.
    #[arg(long, global = true)]
    pub(crate) force: bool,
    /// Only results and errors: no progress, no hints, no cautions.
    #[arg(long, short, global = true)]
    pub(crate) quiet: bool,
}

/// How results are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    /// For people: at most 100 columns wide.
    Text,
    /// For programs: versioned, and described by the schema files in `solver/schema`.
    Json,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Says what overlaps, what touches and what comes too near, covers included.
    Check(CheckArgs),
    /// Finds the chains of fittings that join two ports, best first.
    Bridge(BridgeArgs),
    /// Chooses a chain for every gap so that all can be built together, with the order of work and what to get.
    Plan(PlanArgs),
    /// Works out how much coolant moves through the circuit, and where its pressure goes.
    Flow(FlowArgs),
    /// Lists the parts of the catalog, or shows one.
    Catalog(CatalogArgs),
    /// Writes the built-in demo layout, to start a layout of your own from.
    Demo,
    /// Lists the pages of the guide, or prints one.
    Help(HelpArgs),
    /// Writes a completion script for a shell.
    Completions(CompletionsArgs),
    /// Writes the manual page, in the form that `man` reads.
    Manual,
}

/// `check`.
#[derive(Args, Debug)]
pub(crate) struct CheckArgs {
    /// Layout file; `-` for standard input.
    #[arg(value_hint = ValueHint::FilePath)]
    pub(crate) layout: PathBuf,
}

/// `bridge`.
#[derive(Args, Debug)]
pub(crate) struct BridgeArgs {
    /// Layout file; `-` for standard input.
    #[arg(value_hint = ValueHint::FilePath)]
    pub(crate) layout: PathBuf,
    /// Port where the chain starts, written `component.port`; every gap of the circuit when left out.
    #[arg(requires = "to")]
    pub(crate) from: Option<String>,
    /// Port where the chain ends.
    pub(crate) to: Option<String>,
    /// Writes the layout with suggested move N of the gap made, instead of the report; comments and order stay.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=99))]
    pub(crate) apply: Option<u32>,
    /// Writes the order of work of chain N of the gap instead of the report.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=MOST_WANTED), conflicts_with = "apply")]
    pub(crate) steps: Option<u32>,
    /// Draws the parts that must be aimed into an SVG file, each as it is seen from the free end of the chain.
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath, requires = "steps")]
    pub(crate) plot: Option<PathBuf>,
    /// Order of the list: one or more of these, the first decides. Other orders than `parts,loss` are made among the 200
    /// chains of fewest parts and least loss, or all there are, and the report says how far that is a proof. `slack` does
    /// what `--slack` does.
    #[arg(long, value_name = "KEYS", value_delimiter = ',', value_parser = rank_by(), default_value = "parts,loss")]
    pub(crate) rank: Vec<RankBy>,
    /// Also lists chains that cannot be made up, after the others, and what stops them.
    #[arg(long)]
    pub(crate) all: bool,
    /// Options of the search.
    #[command(flatten)]
    pub(crate) search: SearchArgs,
    /// Options of the making up.
    #[command(flatten)]
    pub(crate) make_up: MakeUpArgs,
    /// Says of each chain in how many builds it still closes when the holes are a little out of place.
    #[arg(long, conflicts_with_all = ["steps", "apply"])]
    pub(crate) slack: bool,
    /// How far holes are out of place along each axis, in millimetres: two standard deviations.
    #[arg(long, value_name = "MM", requires = "slack", default_value_t = 0.5, value_parser = hole_mm)]
    pub(crate) hole_mm: f64,
    /// How far components are turned out of true about each axis, in degrees: two standard deviations.
    #[arg(long, value_name = "DEG", requires = "slack", default_value_t = 0.5, value_parser = hole_deg)]
    pub(crate) hole_deg: f64,
}

/// `plan`.
#[derive(Args, Debug)]
pub(crate) struct PlanArgs {
    /// Layout file; `-` for standard input.
    #[arg(value_hint = ValueHint::FilePath)]
    pub(crate) layout: PathBuf,
    /// Counts the parts at hand in FILE, so that only the others are to get: on each line an id, a comma and a count.
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub(crate) stock: Option<PathBuf>,
    /// Writes the list of parts into FILE as comma-separated values, beside the report.
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub(crate) list: Option<PathBuf>,
    /// Longest chain to consider, in parts.
    #[arg(long, value_name = "N", default_value_t = 5, value_parser = parts, allow_negative_numbers = true)]
    pub(crate) max_parts: usize,
    /// Least clearance, in millimetres, between chains as well; the layout's allowance when left out.
    #[arg(long, value_name = "MM", value_parser = clearance, allow_negative_numbers = true)]
    pub(crate) clearance: Option<f64>,
    /// Flow for which losses are stated, in litres a minute; as of `bridge` when left out.
    #[arg(long, value_name = "L_MIN", value_parser = flow, allow_negative_numbers = true)]
    pub(crate) flow: Option<f64>,
    /// Options of the making up.
    #[command(flatten)]
    pub(crate) make_up: MakeUpArgs,
    /// How many threads search; all cores when left out. The answer is the same for any number.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=MOST_THREADS), allow_negative_numbers = true)]
    pub(crate) threads: Option<u16>,
    /// Stops without proof after this many closure attempts in a gap; they are the same on any number of threads.
    #[arg(long, value_name = "N", value_parser = budget, allow_negative_numbers = true)]
    pub(crate) budget: Option<u64>,
}

/// Options of the making up.
#[derive(Args, Clone, Copy, Debug, Default)]
pub(crate) struct MakeUpArgs {
    /// Room for fingers or a wrench around a collar that is turned, in millimetres from its rim; 0 asks for none. The
    /// layout's allowance when left out, by common practice 8.
    #[arg(long, value_name = "MM", value_parser = clearance, allow_negative_numbers = true)]
    pub(crate) tool_mm: Option<f64>,
    /// Arc over which that room must be free at one go, in degrees; the layout's allowance when left out, by common
    /// practice 60, one flat of a hexagon.
    #[arg(long, value_name = "DEG", value_parser = tool_arc, allow_negative_numbers = true)]
    pub(crate) tool_arc: Option<f64>,
}

/// `flow`.
#[derive(Args, Debug)]
pub(crate) struct FlowArgs {
    /// Layout file; `-` for standard input.
    #[arg(value_hint = ValueHint::FilePath)]
    pub(crate) layout: PathBuf,
    /// Sets a second layout beside the first.
    #[arg(long, value_name = "LAYOUT", value_hint = ValueHint::FilePath)]
    pub(crate) compare: Option<PathBuf>,
    /// Draws pump curve, system curve and losses of the first layout into an SVG file.
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub(crate) plot: Option<PathBuf>,
    /// Takes gaps that nothing bridges as joined without loss, instead of calling the circuit open.
    #[arg(long)]
    pub(crate) assume_joined: bool,
    /// Longest chain to consider, in parts.
    #[arg(long, value_name = "N", default_value_t = 5, value_parser = parts, allow_negative_numbers = true)]
    pub(crate) max_parts: usize,
    /// Least clearance, in millimetres; the layout's allowance when left out.
    #[arg(long, value_name = "MM", value_parser = clearance, allow_negative_numbers = true)]
    pub(crate) clearance: Option<f64>,
    /// How many threads search; all cores when left out. The answer is the same for any number.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=MOST_THREADS), allow_negative_numbers = true)]
    pub(crate) threads: Option<u16>,
    /// Stops without proof after this many closure attempts in a gap; they are the same on any number of threads.
    #[arg(long, value_name = "N", value_parser = budget, allow_negative_numbers = true)]
    pub(crate) budget: Option<u64>,
}

/// Options of a search.
#[derive(Args, Clone, Debug)]
pub(crate) struct SearchArgs {
    /// Longest chain to consider, in parts.
    #[arg(long, value_name = "N", default_value_t = 5, value_parser = parts, allow_negative_numbers = true)]
    pub(crate) max_parts: usize,
    /// How many chains to list for each gap, the best first.
    #[arg(long, value_name = "N", default_value_t = 5, value_parser = clap::value_parser!(u32).range(1..=MOST_WANTED), allow_negative_numbers = true)]
    pub(crate) want: u32,
    /// Least clearance, in millimetres; the layout's allowance when left out.
    #[arg(long, value_name = "MM", value_parser = clearance, allow_negative_numbers = true)]
    pub(crate) clearance: Option<f64>,
    /// Flow for which losses are stated, in litres a minute. When left out: what the circuit settles at with
    /// the best chains of up to 4 parts, other gaps joined without loss, or the layout's design flow if it
    /// has no pump.
    #[arg(long, value_name = "L_MIN", value_parser = flow, allow_negative_numbers = true)]
    pub(crate) flow: Option<f64>,
    /// How many threads search; all cores when left out. The answer is the same for any number.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=MOST_THREADS), allow_negative_numbers = true)]
    pub(crate) threads: Option<u16>,
    /// Stops without proof after this many closure attempts in a gap; they are the same on any number of threads.
    #[arg(long, value_name = "N", value_parser = budget, allow_negative_numbers = true)]
    pub(crate) budget: Option<u64>,
}

impl Default for SearchArgs {
    /// What clap fills in when no option is given.
    fn default() -> Self {
        Self { max_parts: 5, want: 5, clearance: None, flow: None, threads: None, budget: None }
    }
}

/// Most chains that may be asked for in one gap, so that the list stays within memory.
const MOST_WANTED: i64 = 10_000;
/// Most threads; a larger number is a slip of the finger rather than a machine.
const MOST_THREADS: i64 = 1_024;

/// `catalog`.
#[derive(Args, Debug)]
pub(crate) struct CatalogArgs {
    /// Words to look for in ids, names, families and threads, such as `bend` or `"G 1/4"`; an id shows that part.
    pub(crate) filter: Vec<String>,
}

/// `help`.
#[derive(Args, Debug)]
pub(crate) struct HelpArgs {
    /// Page of the guide, or a command; the list of pages when left out.
    pub(crate) topic: Option<String>,
}

/// `completions`.
#[derive(Args, Debug)]
pub(crate) struct CompletionsArgs {
    /// Which shell.
    #[arg(value_enum)]
    pub(crate) shell: clap_complete::Shell,
}

/// Reads what to rank by.
fn rank_by() -> impl TypedValueParser<Value = RankBy> {
    PossibleValuesParser::new(RankBy::ALL.map(RankBy::name)).try_map(|name| name.parse::<RankBy>())
}

/// Reads a clearance: 0 to 100 mm.
fn clearance(text: &str) -> Result<f64, String> {
    number(text, 0.0, 100.0, "mm")
}

/// Reads the arc of a tool: 5 to 180 degrees.
fn tool_arc(text: &str) -> Result<f64, String> {
    number(text, 5.0, 180.0, "degrees")
}

/// Reads a hole-position tolerance: 0 to 10 mm.
fn hole_mm(text: &str) -> Result<f64, String> {
    number(text, 0.0, 10.0, "mm")
}

/// Reads an angular tolerance: 0 to 10 degrees.
fn hole_deg(text: &str) -> Result<f64, String> {
    number(text, 0.0, 10.0, "degrees")
}

/// Reads a part count: 1 to as many as a search can handle.
fn parts(text: &str) -> Result<usize, String> {
    match text.trim().parse() {
        Ok(parts) if (1..=MOST_PARTS).contains(&parts) => Ok(parts),
        _ => Err(format!("expected a whole number from 1 to {MOST_PARTS}")),
    }
}

/// Reads a number of closures: 1 or more.
fn budget(text: &str) -> Result<u64, String> {
    match text.trim().parse() {
        Ok(closures @ 1..) => Ok(closures),
        _ => Err("expected a whole number of at least 1".to_owned()),
    }
}

/// Reads a flow: more than nothing, at most what a large workshop pump moves.
fn flow(text: &str) -> Result<f64, String> {
    number(text, 0.01, 1000.0, "L/min")
}

fn number(text: &str, least: f64, most: f64, unit: &str) -> Result<f64, String> {
    match text.trim().parse::<f64>() {
        Ok(value) if (least..=most).contains(&value) => Ok(value),
        _ => Err(format!("expected a number from {least} to {most}, in {unit}")),
    }
}
