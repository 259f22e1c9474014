//! What the window does when nothing happens: it should draw nothing and take no time.

use crate::app::DeskResource;
use bevy::{
    prelude::*,
    winit::{EventLoopProxyWrapper, WinitUserEvent},
};
use std::io::Write as _;
use std::sync::{
    Arc,
    atomic::{AtomicBool, AtomicU64, Ordering},
};
use std::thread;
use std::time::{Duration, Instant};

/// Counts frames for so long once everything is solved and the window has come to rest, says how many there were, and
/// ends the program.
#[derive(Clone, Copy, Debug)]
pub struct RestPlugin {
    /// How long.
    pub time: Duration,
}

#[derive(Resource, Clone, Debug, Default)]
struct Rest {
    time: Duration,
    frames: Arc<AtomicU64>,
    solved: Arc<AtomicBool>,
    done: Arc<AtomicBool>,
}

/// Without a frame for so long the window rests; and it has so long to come to rest.
const AT_REST: Duration = Duration::from_secs(2);
const MOST_RESTLESS: Duration = Duration::from_secs(60);

impl Plugin for RestPlugin {
    fn build(&self, app: &mut App) {
        app.insert_resource(Rest { time: self.time, ..Rest::default() })
            .add_systems(Startup, watch)
            .add_systems(Last, count);
    }
}

fn count(rest: Res<Rest>, desk: Res<DeskResource>, mut exit: MessageWriter<AppExit>, mut asked: Local<bool>) {
    rest.frames.fetch_add(1, Ordering::Relaxed);
    *asked |= desk.0.progress().is_some();
    rest.solved.store(*asked && desk.0.progress().is_none(), Ordering::Relaxed);
    if rest.done.load(Ordering::Relaxed) {
        exit.write(AppExit::Success);
    }
}

fn watch(rest: Res<Rest>, proxy: Option<Res<EventLoopProxyWrapper>>) {
    let (rest, proxy) = (rest.clone(), proxy.map(|proxy| (**proxy).clone()));
    thread::spawn(move || {
        let frames = || rest.frames.load(Ordering::Relaxed);
        while !rest.solved.load(Ordering::Relaxed) {
            thread::sleep(AT_REST / 10);
        }
        let until = Instant::now() + MOST_RESTLESS;
        let mut last = None;
        while last != Some(frames()) && Instant::now() < until {
            last = Some(frames());
            thread::sleep(AT_REST);
        }
        let (drawn, took) = (frames(), processor_s());
        thread::sleep(rest.time);
        let (drawn, seconds) = (frames() - drawn, rest.time.as_secs_f64());
        let took = processor_s()
            .zip(took)
            .map_or_else(String::new, |(now, then)| format!(", {:.2} s of processor time", now - then));
        // Nobody reads it when this fails.
        let _ = writeln!(std::io::stdout(), "{drawn} frames in {seconds} s at rest{took}");
        rest.done.store(true, Ordering::Relaxed);
        if let Some(proxy) = proxy {
            let _ = proxy.send_event(WinitUserEvent::WakeUp);
        }
    });
}

/// The processor time that this program has had, in seconds, where the system tells it in hundredths.
fn processor_s() -> Option<f64> {
    let stat = std::fs::read_to_string("/proc/self/stat").ok()?;
    // The second field is a name in brackets, which may hold spaces.
    let (_, fields) = stat.rsplit_once(')')?;
    let ticks: Vec<f64> = fields.split_whitespace().skip(11).take(2).filter_map(|field| field.parse().ok()).collect();
    Some(ticks.iter().sum::<f64>() / 100.0)
}
