//! A circuit as a picture: pump curve, what the circuit needs, where both meet, and where the pressure goes.

use crate::hydraulics::network::{FlowBand, Network, NetworkError, Outcome, SystemPoint};
use std::fmt::Write as _;

/// The picture of a circuit's operating point, as data that is ready to be drawn.
///
/// Everything is told by line style, place and words, so it reads without colour, on light and on dark.
#[derive(Clone, Debug)]
pub struct FlowPlot {
    title: String,
    pump: String,
    curve: Vec<SystemPoint>,
    flow: FlowBand,
    gain_pa: f64,
    bars: Vec<Bar>,
}

/// What one part takes of all that is lost.
#[derive(Clone, Debug)]
struct Bar {
    name: String,
    share: f64,
    /// Least and most, as multiples of the likely loss.
    between: (f64, f64),
    /// Left out where losses of parallel parts would have to be added.
    loss_pa: Option<f64>,
}

impl FlowPlot {
    /// Solves a circuit and gathers what its picture shows, as seen by its first running pump.
    ///
    /// # Errors
    /// As [`Network::solve`] and [`Network::system_curve`].
    pub fn new(title: &str, network: &Network) -> Result<Self, NetworkError> {
        const POINTS: u32 = 60;
        let outcome = network.solve()?;
        let Some(pump) = outcome.pumps.first() else {
            return Err(NetworkError::NoPump { off: Vec::new() });
        };
        let bands = network.flow_bands()?;
        let Some(&flow) = bands.get(pump.part) else {
            return Err(NetworkError::NoPump { off: Vec::new() });
        };
        let name = outcome.parts[pump.part].name.clone();
        let end = 1.08 * pump.last_flow_m3_s.max(flow.high_m3_s);
        let flows: Vec<f64> = (0..=POINTS).map(|step| end * f64::from(step) / f64::from(POINTS)).collect();
        let curve = network.system_curve(&name, &flows)?;
        let gain_pa = outcome.pumps.iter().filter(|other| other.part == pump.part).map(|other| other.gain_pa).sum();
        Ok(Self { title: title.to_owned(), pump: name, curve, flow, gain_pa, bars: bars(&outcome) })
    }

    /// The picture as an SVG document.
    #[must_use]
    pub fn to_svg(&self) -> String {
        let bars_top = CHART_TOP + CHART_HEIGHT + 96.0;
        let height = bars_top + BAR_PITCH * self.bars.len() as f64 + 24.0;
        let mut svg = String::new();
        put(
            &mut svg,
            format_args!(
                r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" width="{WIDTH}" height="{height}" role="img" aria-label="{}">"#,
                escaped(&self.summary())
            ),
        );
        svg.push_str(STYLE);
        put(&mut svg, format_args!(r#"<rect class="paper" width="{WIDTH}" height="{height}"/>"#));
        put(&mut svg, format_args!(r#"<text class="title" x="{CHART_LEFT}" y="30">{}</text>"#, escaped(&self.title)));
        put(&mut svg, format_args!(r#"<text x="{CHART_LEFT}" y="52">{}</text>"#, escaped(&self.summary())));
        legend(&mut svg, &self.pump);
        self.chart(&mut svg);
        self.losses(&mut svg, bars_top);
        svg.push_str("</svg>\n");
        svg
    }

    /// The operating point in words.
    fn summary(&self) -> String {
        let FlowBand { low_m3_s, likely_m3_s, high_m3_s, .. } = self.flow;
        format!(
            "{:.2} L/min at {:.1} kPa, at worst between {:.2} and {:.2} L/min",
            likely_m3_s * L_MIN,
            self.gain_pa * KPA,
            low_m3_s * L_MIN,
            high_m3_s * L_MIN
        )
    }

    fn chart(&self, svg: &mut String) {
        let most_flow = self.curve.last().map_or(1.0, |point| point.flow_m3_s * L_MIN);
        let most_gain = self.curve.iter().map(|point| point.gain_pa * KPA).fold(self.gain_pa * KPA, f64::max);
        let axes = Axes { most_flow, most_pressure: 1.12 * most_gain };
        axes.draw(svg);

        let line = |pressure: &dyn Fn(&SystemPoint) -> f64| -> String {
            self.curve
                .iter()
                .map(|point| axes.place(point.flow_m3_s * L_MIN, pressure(point) * KPA))
                .collect::<Vec<_>>()
                .join(" ")
        };
        let there = line(&|point| point.low_pa);
        let back = self.curve.iter().rev().map(|point| axes.place(point.flow_m3_s * L_MIN, point.high_pa * KPA));
        let back = back.collect::<Vec<_>>().join(" ");
        put(svg, format_args!(r##"<g clip-path="url(#chart)"><polygon class="doubt" points="{there} {back}"/>"##));
        put(svg, format_args!(r#"<polyline class="needed" points="{}"/>"#, line(&|point| point.likely_pa)));
        put(svg, format_args!(r#"<polyline class="pump" points="{}"/></g>"#, line(&|point| point.gain_pa)));

        let (x, y) = (axes.x(self.flow.likely_m3_s * L_MIN), axes.y(self.gain_pa * KPA));
        let (bottom, left) = (CHART_TOP + CHART_HEIGHT, CHART_LEFT);
        put(svg, format_args!(r#"<path class="guide" d="M{left:.1} {y:.1}H{x:.1}V{bottom:.1}"/>"#));
        let [low, high] = [self.flow.low_m3_s, self.flow.high_m3_s].map(|flow| axes.x(flow * L_MIN));
        put(svg, format_args!(r#"<path class="span" d="M{low:.1} {bottom:.1}H{high:.1}"/>"#));
        put(svg, format_args!(r#"<circle class="point" cx="{x:.1}" cy="{y:.1}" r="5.5"/>"#));
    }

    fn losses(&self, svg: &mut String, top: f64) {
        const BAR_LEFT: f64 = 320.0;
        const BAR_WIDTH: f64 = 220.0;
        let heading = top - 18.0;
        put(svg, format_args!(r#"<text class="title" x="{CHART_LEFT}" y="{heading}">Where the pressure goes</text>"#));
        let (right, words) = (CHART_LEFT + CHART_WIDTH, "whiskers: the least and the most that may be lost");
        put(svg, format_args!(r#"<text class="small end" x="{right}" y="{heading}">{words}</text>"#));
        let longest = self.bars.iter().map(|bar| bar.share * bar.between.1.max(1.0)).fold(f64::MIN_POSITIVE, f64::max);
        for (row, bar) in self.bars.iter().enumerate() {
            let y = top + BAR_PITCH * row as f64;
            let to_x = |share: f64| BAR_LEFT + BAR_WIDTH * share / longest;
            let (end, middle, baseline) = (to_x(bar.share), y + 8.0, y + 12.5);
            let [low, high] = [bar.between.0, bar.between.1].map(|factor| to_x(bar.share * factor));
            put(
                svg,
                format_args!(
                    r#"<text class="end" x="{:.1}" y="{baseline:.1}">{}</text>"#,
                    BAR_LEFT - 8.0,
                    escaped(&shortened(&bar.name, 36))
                ),
            );
            put(
                svg,
                format_args!(
                    r#"<rect class="bar" x="{BAR_LEFT}" y="{y:.1}" width="{:.1}" height="16"/>"#,
                    end - BAR_LEFT
                ),
            );
            put(
                svg,
                format_args!(
                    r#"<path class="whisker" d="M{low:.1} {middle:.1}H{high:.1}M{low:.1} {y:.1}v16M{high:.1} {y:.1}v16"/>"#
                ),
            );
            let share = format!("{:.0} %", bar.share * 100.0);
            let words = bar.loss_pa.map_or(share.clone(), |loss| format!("{share}, {:.2} kPa", loss * KPA));
            put(svg, format_args!(r#"<text x="{:.1}" y="{baseline:.1}">{words}</text>"#, BAR_LEFT + BAR_WIDTH + 12.0));
        }
    }
}

/// The parts that lose most, and the rest as one.
fn bars(outcome: &Outcome) -> Vec<Bar> {
    const MOST: usize = 14;
    let order: Vec<usize> = outcome.by_share().into_iter().filter(|&part| outcome.parts[part].share > 0.0).collect();
    let named = if order.len() > MOST { MOST - 1 } else { order.len() };
    let mut bars: Vec<Bar> = order[..named]
        .iter()
        .map(|&index| {
            let part = &outcome.parts[index];
            let (low, high) = part.loss_between_pa;
            let likely = part.loss_pa.abs();
            Bar {
                name: part.name.clone(),
                share: part.share,
                between: (low / likely, high / likely),
                loss_pa: Some(likely),
            }
        })
        .collect();
    let rest = &order[named..];
    if !rest.is_empty() {
        let sum = |value: &dyn Fn(usize) -> f64| rest.iter().map(|&part| value(part)).sum::<f64>();
        let likely = sum(&|part| outcome.parts[part].loss_pa.abs());
        let low = sum(&|part| outcome.parts[part].loss_between_pa.0);
        let high = sum(&|part| outcome.parts[part].loss_between_pa.1);
        bars.push(Bar {
            name: format!("{} more parts", rest.len()),
            share: sum(&|part| outcome.parts[part].share),
            between: (low / likely, high / likely),
            loss_pa: None,
        });
    }
    bars
}

/// m³/s to L/min.
const L_MIN: f64 = 60_000.0;
/// Pa to kPa.
const KPA: f64 = 1e-3;

const WIDTH: f64 = 720.0;
const CHART_LEFT: f64 = 64.0;
const CHART_TOP: f64 = 104.0;
const CHART_WIDTH: f64 = 624.0;
const CHART_HEIGHT: f64 = 320.0;
const BAR_PITCH: f64 = 26.0;

/// One ink on one paper, which change places in the dark. The hatching has the doubt, the dashes the need, the solid
/// line the pump. No custom properties: several viewers do not know them and would draw black on black.
const STYLE: &str = r#"<style>
svg { color: #1b1b1b; }
text { fill: currentColor; font: 13px sans-serif; }
.title { font-weight: 600; font-size: 16px; }
.small { font-size: 12px; }
.end { text-anchor: end; }
.mid { text-anchor: middle; }
.paper { fill: #ffffff; }
.axis, .pump, .needed, .guide, .span, .whisker, .hatch { fill: none; stroke: currentColor; }
.grid { stroke: currentColor; stroke-opacity: 0.15; }
.pump { stroke-width: 2.5; }
.needed { stroke-width: 2; stroke-dasharray: 8 4; }
.doubt { fill: url(#hatch); stroke: currentColor; stroke-opacity: 0.5; stroke-width: 0.75; }
.guide { stroke-dasharray: 2 3; }
.span { stroke-width: 5; }
.point { fill: #ffffff; stroke: currentColor; stroke-width: 2.5; }
.bar { fill: currentColor; fill-opacity: 0.25; stroke: currentColor; }
.hatch { stroke-width: 1; stroke-opacity: 0.55; }
@media (prefers-color-scheme: dark) {
svg { color: #e8e8e8; }
.paper, .point { fill: #161616; }
}
</style>
<defs>
<pattern id="hatch" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path class="hatch" d="M0 0V7"/></pattern>
<clipPath id="chart"><rect x="64" y="104" width="624" height="320"/></clipPath>
</defs>
"#;

/// Flow in L/min to the right, pressure in kPa upwards, both from zero.
struct Axes {
    most_flow: f64,
    most_pressure: f64,
}

impl Axes {
    fn x(&self, flow: f64) -> f64 {
        CHART_LEFT + CHART_WIDTH * flow / self.most_flow
    }

    fn y(&self, pressure: f64) -> f64 {
        CHART_TOP + CHART_HEIGHT * (1.0 - pressure / self.most_pressure)
    }

    /// A point for a line; far outside the chart it is held near, since some viewers stumble over large numbers.
    fn place(&self, flow: f64, pressure: f64) -> String {
        let y = self.y(pressure).clamp(CHART_TOP - 4.0 * CHART_HEIGHT, CHART_TOP + 2.0 * CHART_HEIGHT);
        format!("{:.1},{y:.1}", self.x(flow))
    }

    fn draw(&self, svg: &mut String) {
        let (right, bottom) = (CHART_LEFT + CHART_WIDTH, CHART_TOP + CHART_HEIGHT);
        for (value, label) in ticks(self.most_flow) {
            let x = self.x(value);
            put(svg, format_args!(r#"<path class="grid" d="M{x:.1} {CHART_TOP}V{bottom}"/>"#));
            put(svg, format_args!(r#"<text class="small mid" x="{x:.1}" y="{:.1}">{label}</text>"#, bottom + 18.0));
        }
        for (value, label) in ticks(self.most_pressure) {
            let y = self.y(value);
            put(svg, format_args!(r#"<path class="grid" d="M{CHART_LEFT} {y:.1}H{right}"/>"#));
            put(
                svg,
                format_args!(
                    r#"<text class="small end" x="{:.1}" y="{:.1}">{label}</text>"#,
                    CHART_LEFT - 8.0,
                    y + 4.0
                ),
            );
        }
        put(svg, format_args!(r#"<path class="axis" d="M{CHART_LEFT} {CHART_TOP}V{bottom}H{right}"/>"#));
        put(svg, format_args!(r#"<text class="end" x="{right}" y="{:.1}">flow in L/min</text>"#, bottom + 38.0));
        put(svg, format_args!(r#"<text x="8" y="{:.1}">kPa</text>"#, CHART_TOP - 8.0));
    }
}

/// Round values from zero to just below `most`, four to eight of them, with their labels.
fn ticks(most: f64) -> Vec<(f64, String)> {
    if !(most > 0.0 && most.is_finite()) {
        return Vec::new();
    }
    let rough = most / 8.0;
    let decade = 10_f64.powf(rough.log10().floor());
    let step =
        [1.0, 2.0, 5.0, 10.0].map(|round| round * decade).into_iter().find(|&step| step >= rough).unwrap_or(rough);
    let decimals = (-(step.log10() + 1e-9).floor()).clamp(0.0, 9.0) as usize;
    let count = (most / step).floor() as usize;
    (0..=count).map(|index| index as f64 * step).map(|value| (value, format!("{value:.decimals$}"))).collect()
}

fn legend(svg: &mut String, pump: &str) {
    let y = 76.0;
    let mut x = CHART_LEFT;
    let mut entry = |sample: &str, words: &str| {
        put(
            svg,
            format_args!(
                r#"<g transform="translate({x:.1} {y})">{sample}<text class="small" x="38" y="4">{}</text></g>"#,
                escaped(words)
            ),
        );
        x += 56.0 + 6.6 * words.chars().count() as f64;
    };
    entry(r#"<path class="pump" d="M0 0H32"/>"#, &format!("gained by {}", shortened(pump, 14)));
    entry(r#"<path class="needed" d="M0 0H32"/>"#, "needed by the circuit");
    entry(r#"<rect class="doubt" y="-7" width="32" height="14"/>"#, "its uncertainty");
    entry(r#"<path class="span" d="M0 0H32"/>"#, "flow between");
}

/// A name of at most `most` characters.
fn shortened(name: &str, most: usize) -> String {
    if name.chars().count() <= most {
        return name.to_owned();
    }
    name.chars().take(most.saturating_sub(1)).chain(['…']).collect()
}

pub(super) fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

/// Appends a line; writing to a `String` cannot fail.
pub(super) fn put(svg: &mut String, line: std::fmt::Arguments<'_>) {
    let _infallible = svg.write_fmt(line);
    svg.push('\n');
}
