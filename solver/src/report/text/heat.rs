//! What becomes of the heat of a circuit, for people.

use super::{
    WIDTH,
    number::{fixed, plural},
    table::{Align, table, wrapped},
};
use crate::circuit::{Capacity, Heat, HotPart, RadiatorAtWork, Rising, Steady};

/// The section about temperatures: its heading and its lines. Where something boils or gets too hot, `warnings` has it too.
pub(super) fn section(heat: &Heat) -> (String, String) {
    match heat {
        Heat::Steady(steady) => {
            let air = fixed(steady.ambient_celsius, 1);
            (format!("Temperatures in °C, steady, with air of {air} °C"), self::steady(steady))
        }
        Heat::Rising(rising) => ("Temperatures, which do not become steady".to_owned(), self::rising(rising)),
    }
}

/// What a builder should mind about the heat.
pub(super) fn warnings(heat: &Heat) -> Vec<String> {
    let mut texts = Vec::new();
    match heat {
        Heat::Steady(steady) => {
            let hot = steady.parts.iter().filter(|part| part.margin_k().is_some_and(|margin| margin < 0.0));
            texts.extend(hot.map(|part| {
                format!(
                    "too hot: {} reaches {} °C, {} K above its limit",
                    part.name,
                    fixed(part.celsius, 1),
                    fixed(-part.margin_k().unwrap_or(0.0), 1)
                )
            }));
            let near = |part: &&HotPart| {
                let limit = part.limit_celsius.unwrap_or(f64::INFINITY);
                part.celsius <= limit && part.most_celsius > limit
            };
            texts.extend(steady.parts.iter().filter(near).map(|part| {
                let most = degrees(part.most_celsius);
                format!("in doubt: at the worst {} reaches {most} °C, above its limit", part.name)
            }));
            texts.extend(steady.without_air.iter().map(|name| {
                format!(
                    "no air passes {name}: give the fans mounted on it, or the radiator itself, `heat: (air_m3_h: ...)`"
                )
            }));
            let outside: Vec<&str> = steady
                .radiators
                .iter()
                .filter(|radiator| !radiator.is_measured && !steady.without_air.contains(&radiator.name))
                .map(|radiator| radiator.name.as_str())
                .collect();
            if !outside.is_empty() {
                texts
                    .push(format!("conductance continued beyond the flows it was measured at: {}", outside.join(", ")));
            }
        }
        Heat::Rising(rising) => {
            texts.push(format!("no radiator takes the heat out: {}", pace(rising)));
        }
    }
    texts
}

fn steady(steady: &Steady) -> String {
    let heads = [
        ("part", Align::Left),
        ("heat W", Align::Right),
        ("coolant in", Align::Right),
        ("out", Align::Right),
        ("hot side", Align::Right),
        ("best", Align::Right),
        ("worst", Align::Right),
        ("limit", Align::Right),
        ("left K", Align::Right),
    ];
    let row = |part: &HotPart| {
        let or_none = |value: Option<f64>| value.map_or_else(|| "-".to_owned(), |value| fixed(value, 1));
        vec![
            part.name.clone(),
            fixed(part.heat_w, 0),
            fixed(part.in_celsius, 1),
            fixed(part.out_celsius, 1),
            if part.has_resistance { fixed(part.celsius, 1) } else { "-".to_owned() },
            degrees(part.least_celsius),
            degrees(part.most_celsius),
            or_none(part.limit_celsius),
            or_none(part.margin_k()),
        ]
    };
    let mut out = table(2, &heads, steady.parts.iter().map(row).collect());
    let heads = [
        ("radiator", Align::Left),
        ("gives off W", Align::Right),
        ("UA W/K", Align::Right),
        ("effectiveness", Align::Right),
        ("air out", Align::Right),
    ];
    let row = |radiator: &RadiatorAtWork| {
        vec![
            radiator.name.clone(),
            fixed(radiator.given_off_w, 1),
            fixed(radiator.w_k, 2),
            fixed(radiator.effectiveness, 2),
            fixed(radiator.air_out_celsius, 1),
        ]
    };
    out.push('\n');
    out.push_str(&table(2, &heads, steady.radiators.iter().map(row).collect()));
    let temperatures = &steady.temperatures;
    let balance = format!(
        "{} W of heat and {} W of the pumps' shafts come in, {} W go out; the coolant is at {} °C on average",
        fixed(temperatures.heat_w, 1),
        fixed(temperatures.shaft_w, 1),
        fixed(temperatures.given_off_w, 1),
        fixed(steady.mean_celsius, 1)
    );
    let warm_up = format!(
        "95 % of the rise are reached after about {} min, as one lump of {}",
        fixed(steady.warm_up_s / 60.0, 1),
        holds(&steady.capacity)
    );
    let trials = steady.trials.iter().filter(|trial| trial.change_k.abs() >= 0.05);
    let trials: Vec<String> = trials
        .map(|trial| {
            let sign = if trial.change_k < 0.0 { "cooler" } else { "hotter" };
            format!("{} K {sign}: {}", fixed(trial.change_k.abs(), 1), trial.what)
        })
        .collect();
    let cases = "best and worst: every loss at its least or most, conductances and resistances at theirs, and each part at the \
                 least flow it may have; flows, and the viscosity at the local temperature, are worked out together";
    let practice = "estimates until they are measured: surfaces may be hot, a sealed circuit builds up pressure as it warms, \
                    and a pump must not run dry";
    [&balance, &warm_up, cases, practice].iter().for_each(|text| out.push_str(&wrapped(text, WIDTH, 2, 4)));
    if !trials.is_empty() {
        out.push_str("\n  What if, for the hottest part:\n");
        trials.iter().for_each(|trial| out.push_str(&wrapped(trial, WIDTH, 4, 6)));
    }
    out
}

fn rising(rising: &Rising) -> String {
    let heat = format!(
        "{} W come in and no radiator states what it takes out: {}, from {} °C",
        fixed(rising.heat_w, 1),
        pace(rising),
        fixed(rising.start_celsius, 1)
    );
    let mut out = wrapped(&heat, WIDTH, 2, 4);
    if let Some((name, minutes)) = &rising.first_limit {
        let text = format!("{name} is the first to reach its limit{}", after(*minutes));
        out.push_str(&wrapped(&text, WIDTH, 2, 4));
    }
    let (end, minutes) = rising.coolant_end;
    let text = format!("the coolant reaches {} °C, the end of what is known of it{}", fixed(end, 0), after(minutes));
    out.push_str(&wrapped(&text, WIDTH, 2, 4));
    out.push_str(&wrapped(&format!("it holds {}", holds(&rising.capacity)), WIDTH, 2, 4));
    out
}

/// "after 3.2 min", where that is known.
fn after(minutes: Option<f64>) -> String {
    minutes.map_or_else(String::new, |minutes| format!(", after {} min", fixed(minutes, 1)))
}

fn pace(rising: &Rising) -> String {
    let most = if rising.capacity.without_volume.is_empty() { "" } else { "up to " };
    match rising.k_per_min {
        Some(k_per_min) => format!("the coolant warms by {most}{} K a minute", fixed(k_per_min, 2)),
        None => "the coolant warms, how fast is not known because no `volume_ml` is stated".to_owned(),
    }
}

/// What a circuit holds, and what of it is not known.
fn holds(capacity: &Capacity) -> String {
    let known = format!("{} mL, {} J/K", fixed(capacity.volume_m3 * 1e6, 0), fixed(capacity.j_k, 0));
    match capacity.without_volume.as_slice() {
        [] => known,
        [one] => format!("{known}, without what {one} holds, which is not stated"),
        many => format!("{known}, without what {} hold, which is not stated", plural(many.len(), "component")),
    }
}

/// A temperature that may be beyond all that can be said.
fn degrees(celsius: f64) -> String {
    if celsius.is_finite() { fixed(celsius, 1) } else { "-".to_owned() }
}
