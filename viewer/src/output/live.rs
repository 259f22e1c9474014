//! The whole program at work, panels and all, drawn into a picture that nobody takes: as fast as in a window that does
//! not wait for a screen, and without a window.

use super::driver::driver;
use super::offscreen::{NotDrawn, blank, ready, windowless};
use crate::app::{Canvas, DeskResource, ViewerPlugin};
use crate::desk::Desk;
use crate::look::camera::Watch;
use bevy::{
    app::SubApps,
    camera::RenderTarget,
    prelude::*,
    render::{
        render_resource::PollType,
        renderer::{RenderAdapterInfo, RenderDevice, RenderQueue},
    },
    window::WindowResolution,
};
use std::sync::{
    Arc,
    atomic::{AtomicU64, Ordering},
};
use std::time::{Duration, Instant};

/// The program without its window.
pub struct Live {
    subapps: SubApps,
    /// Frames handed to the device, and how many of them it has finished.
    given: u64,
    finished: Arc<AtomicU64>,
}

/// Frames that may be under way on the device at once, as in a window that shows one while the next is drawn.
const UNDER_WAY: u64 = 2;

/// Between two looks at what the device has finished: short against any frame.
const A_MOMENT: Duration = Duration::from_micros(100);

/// How long the device may take for a frame before it is given up, in seconds.
const PATIENCE_S: u64 = 60;

impl Live {
    /// Opens the program on a desk, in a size in pixels.
    ///
    /// # Errors
    /// When there is no driver.
    pub fn open(desk: Desk, size: [u32; 2]) -> Result<Self, NotDrawn> {
        driver()?;
        let mut app = App::new();
        let window = Window { resolution: WindowResolution::new(size[0], size[1]), visible: false, ..default() };
        app.add_plugins(windowless(Some(window)));
        let canvas = blank(&mut app, size);
        app.insert_resource(Canvas(RenderTarget::from(canvas)))
            .insert_resource(DeskResource(desk))
            .add_plugins(ViewerPlugin);
        Ok(Self { subapps: ready(app), given: 0, finished: Arc::default() })
    }

    /// The name of the device that draws.
    #[must_use]
    pub fn device(&self) -> String {
        let info = self.subapps.main.world().get_resource::<RenderAdapterInfo>();
        info.map_or_else(String::new, |info| info.name.clone())
    }

    /// Whether the solver is at work.
    #[must_use]
    pub fn is_solving(&self) -> bool {
        self.subapps.main.world().resource::<DeskResource>().0.progress().is_some()
    }

    /// Turns the eye about what it looks at, by an angle in radians.
    pub fn turn(&mut self, by: f32) {
        self.world().resource_mut::<Watch>().0.orbit(by, 0.0);
    }

    /// One frame: the program's own work, handing it over to be drawn, and waiting while the device is behind. Gives
    /// the time for the first of these; the frame is then still being drawn.
    ///
    /// # Errors
    /// When the device does not go on.
    pub fn frame(&mut self) -> Result<Duration, NotDrawn> {
        let start = Instant::now();
        self.subapps.main.run_default_schedule();
        let own = start.elapsed();
        // As in `SubApps::update`, which does both at once.
        for subapp in self.subapps.sub_apps.values_mut() {
            subapp.extract(self.subapps.main.world_mut());
            subapp.update();
        }
        self.world().clear_trackers();
        self.given += 1;
        let finished = Arc::clone(&self.finished);
        if let Some(queue) = self.world().get_resource::<RenderQueue>() {
            queue.on_submitted_work_done(move || {
                finished.fetch_add(1, Ordering::Release);
            });
        }
        self.wait_until(self.given.saturating_sub(UNDER_WAY))?;
        Ok(own)
    }

    /// Waits until everything that was handed over is drawn.
    ///
    /// # Errors
    /// When the device does not go on.
    pub fn finish(&mut self) -> Result<(), NotDrawn> {
        // Drawing runs a frame behind, so what was handed over last is on its way only after the next frame.
        self.frame()?;
        self.frame()?;
        self.wait_until(self.given)
    }

    /// Waits until the device has finished so many frames. Asks again and again without waiting inside the device,
    /// which would keep the next frame from being handed over.
    fn wait_until(&mut self, frames: u64) -> Result<(), NotDrawn> {
        let until = Instant::now() + Duration::from_secs(PATIENCE_S);
        while self.finished.load(Ordering::Acquire) < frames {
            if let Some(device) = self.world().get_resource::<RenderDevice>() {
                // A lost device is noticed by the frames that it does not finish.
                let _ = device.wgpu_device().poll(PollType::Poll);
            }
            if self.finished.load(Ordering::Acquire) >= frames {
                break;
            }
            if Instant::now() > until {
                return Err(NotDrawn::Lost(PATIENCE_S));
            }
            std::thread::sleep(A_MOMENT);
        }
        Ok(())
    }

    fn world(&mut self) -> &mut World {
        self.subapps.main.world_mut()
    }
}
