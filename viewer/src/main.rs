//! The viewer's program: a window, or pictures, frames and a model without one.

use bevy::app::AppExit;
use clap::Parser;
use elbowroom_viewer::{
    app::{self, What},
    args::Arguments,
    desk::{
        Desk,
        view::{Background, Covers, ViewOptions},
    },
    follow::shown,
    look::Show,
    output::{
        dragging, driver, pace,
        picture::{NotMade, Shot, choose, draw, film, frame_file, look_at, make_folder, model, write, write_bytes},
    },
};
use std::{
    error::Error,
    io::Write,
    process::ExitCode,
    time::{Duration, Instant},
};

/// Ends with 0 when all went well, and with 2 when it did not, as the solver's program does.
fn main() -> ExitCode {
    let started = Instant::now();
    match run(&Arguments::parse(), started) {
        Ok(code) => code,
        Err(error) => {
            // Nothing is left to be done when even this cannot be written.
            let said = error.to_string();
            let sign = if said.starts_with("error") { "" } else { "error: " };
            let _ = writeln!(std::io::stderr(), "{sign}{said}");
            ExitCode::from(TROUBLE)
        }
    }
}

/// The exit code when something went wrong.
const TROUBLE: u8 = 2;

fn run(arguments: &Arguments, started: Instant) -> Result<ExitCode, Box<dyn Error>> {
    if arguments.output.measure_drag {
        std::io::stdout().write_all(dragging::report()?.as_bytes())?;
        return Ok(ExitCode::SUCCESS);
    }
    // The first question is whether there is anything to draw with, since a window or a picture needs it. A model does
    // not.
    let needs_driver = !arguments.writes() || arguments.output.picture.is_some() || arguments.output.frames.is_some();
    if needs_driver {
        driver()?;
    }
    let size = arguments.size();
    if let Some(seconds) = arguments.output.measure {
        let time = Duration::from_secs_f64(seconds);
        let report = match arguments.output.measure_scene {
            Some(scene) => pace::line(scene, size, time, started)?,
            None => pace::report(size, time)?,
        };
        std::io::stdout().write_all(report.as_bytes())?;
        return Ok(ExitCode::SUCCESS);
    }
    let mut desk = Desk::open(arguments.layout.as_deref(), &arguments.catalog, arguments.asked())?;
    let look = &arguments.look;
    desk.look(|options| {
        *options = ViewOptions {
            background: if look.light { Background::Light } else { Background::Dark },
            covers: match (look.covers_off, look.covers_lifted) {
                (true, _) => Covers::Off,
                (_, true) => Covers::Lifted,
                _ => Covers::On,
            },
            see_through: look.see_through,
            section: look.cut,
            text_scale: look.text_scale,
            ..*options
        };
    });
    let ports = arguments.gap.as_ref().map(|[from, to]| (from.as_str(), to.as_str()));
    if !arguments.writes() {
        if let Some(ports) = ports {
            look_at(&mut desk, ports)?;
        }
        let what = match (&arguments.output.window_picture, arguments.output.measure_rest) {
            (Some(path), _) => What::Portrait(path.clone()),
            (None, Some(seconds)) => What::MeasureRest(Duration::from_secs_f64(seconds)),
            (None, None) => What::Work,
        };
        return Ok(match app::run(desk, size, what) {
            AppExit::Success => ExitCode::SUCCESS,
            AppExit::Error(_) => ExitCode::from(TROUBLE),
        });
    }
    outputs(arguments, &mut desk, ports, size)?;
    Ok(ExitCode::SUCCESS)
}

/// Writes what is asked for.
fn outputs(arguments: &Arguments, desk: &mut Desk, ports: Option<(&str, &str)>, size: [u32; 2]) -> Result<(), NotMade> {
    // A folder that cannot be made is found out before the solver has worked for nothing.
    if let Some(folder) = &arguments.output.frames {
        make_folder(folder)?;
    }
    choose(desk, ports, arguments.chain.map(usize::from))?;
    let show = Show { names: arguments.output.frames.is_none(), ..shown(desk) };
    let shot = Shot { view: arguments.look.view, size, parallel: true, close: arguments.gap.is_some(), show };
    if let Some(path) = &arguments.output.picture {
        write(&draw(desk, &shot)?, path)?;
    }
    if let Some(path) = &arguments.output.model {
        write_bytes(&model(desk, &shot.show), path)?;
    }
    if let Some(folder) = &arguments.output.frames {
        film(desk, &shot, f64::from(arguments.output.fps), |number, _, image| {
            write(&image, &frame_file(folder, number))
        })?;
    }
    Ok(())
}
