//! The scene drawn without a window and without a display, one picture at a time.

use super::driver::{NoDriver, backends, driver};
use crate::look::{
    Show,
    camera::{self, CameraPlugin, Watch},
    lettering::{LetteringPlugin, Notes},
    measure::{Measured, Measuring},
    measuring::notes_of,
    pick::{pick, ray},
    seeing::in_front,
};
use crate::scene::{OnStage, ScenePlugin, Troupe};
use bevy::{
    app::{AppLabel, PluginGroupBuilder, PluginsState, SubApps, TerminalCtrlCHandlerPlugin},
    asset::RenderAssetUsages,
    camera::RenderTarget,
    log::LogPlugin,
    prelude::*,
    render::{
        RenderApp, RenderPlugin,
        pipelined_rendering::PipelinedRenderingPlugin,
        render_resource::{Extent3d, PipelineCache, PollType, TextureDimension, TextureFormat, TextureUsages},
        renderer::RenderDevice,
        settings::{RenderCreation, WgpuSettings},
        view::screenshot::{Screenshot, ScreenshotCaptured, trigger_screenshots},
    },
    time::TimeUpdateStrategy,
    window::ExitCondition,
    winit::WinitPlugin,
};
use image::RgbImage;
use std::sync::mpsc;
use std::time::{Duration, Instant};

/// The scene, drawn into pictures of one size.
pub struct Offscreen {
    subapps: SubApps,
    target: Handle<Image>,
    size: [u32; 2],
    sender: mpsc::Sender<Image>,
    receiver: mpsc::Receiver<Image>,
}

/// A picture that was not drawn.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum NotDrawn {
    /// There is nothing to draw with.
    #[error(transparent)]
    NoDriver(#[from] NoDriver),
    /// The size is none that can be drawn.
    #[error("expected a picture of 16x16 to 8192x8192 pixels, found {0}x{1}")]
    Size(u32, u32),
    /// The device did not give the picture back.
    #[error("the graphics device gave no picture within {0} s; it may have been lost, so start again")]
    Lost(u64),
}

/// How long a picture may take to come back, in seconds. Software drawing takes seconds for a large one.
const PATIENCE_S: u64 = 120;
/// Updates without a pipeline to wait for after which all are there.
const QUIET: usize = 3;
/// Updates after which it is no longer waited for pipelines.
const MOST_WAITED: usize = 500;

/// Bevy's drawing as this program wants it: pipelines are made in the frame that first needs them, or things would be
/// missing from it, and with the drivers that [`driver`] looks for.
#[must_use]
pub fn render_plugin() -> RenderPlugin {
    let settings = WgpuSettings { backends: Some(backends()), ..default() };
    RenderPlugin {
        synchronous_pipeline_compilation: true,
        render_creation: RenderCreation::Automatic(Box::new(settings)),
        ..default()
    }
}

/// Bevy's own plugins without a window's system; `window` is one that only programs see.
pub(super) fn windowless(window: Option<Window>) -> PluginGroupBuilder {
    DefaultPlugins
        .set(WindowPlugin { primary_window: window, exit_condition: ExitCondition::DontExit, ..default() })
        .set(render_plugin())
        .disable::<WinitPlugin>()
        // Several may run in one process, which has one log and one handler of Ctrl-C.
        .disable::<LogPlugin>()
        .disable::<TerminalCtrlCHandlerPlugin>()
}

/// An empty picture that can be drawn into.
pub(super) fn blank(app: &mut App, [width, height]: [u32; 2]) -> Handle<Image> {
    let size = Extent3d { width, height, depth_or_array_layers: 1 };
    let format = TextureFormat::Rgba8UnormSrgb;
    let mut image = Image::new_uninit(size, TextureDimension::D2, format, RenderAssetUsages::all());
    image.texture_descriptor.usage |= TextureUsages::RENDER_ATTACHMENT;
    app.world_mut().resource_mut::<Assets<Image>>().add(image)
}

/// Ends the setting up, so that frames can be drawn one at a time.
pub(super) fn ready(mut app: App) -> SubApps {
    while app.plugins_state() == PluginsState::Adding {
        bevy::tasks::tick_global_task_pools_on_main_thread();
    }
    app.finish();
    app.cleanup();
    std::mem::take(app.sub_apps_mut())
}

impl Offscreen {
    /// Starts drawing in a size in pixels.
    ///
    /// # Errors
    /// When there is no driver, or the size cannot be drawn.
    pub fn new([width, height]: [u32; 2]) -> Result<Self, NotDrawn> {
        if !(16..=8192).contains(&width) || !(16..=8192).contains(&height) {
            return Err(NotDrawn::Size(width, height));
        }
        driver()?;
        let mut app = App::new();
        // Drawn in the same update, not in the one after.
        app.add_plugins(windowless(None).disable::<PipelinedRenderingPlugin>());
        let target = blank(&mut app, [width, height]);
        app.add_plugins((ScenePlugin, CameraPlugin, LetteringPlugin));
        camera::spawn(&mut app.world_mut().commands(), RenderTarget::from(target.clone()));
        let (sender, receiver) = mpsc::channel();
        Ok(Self { subapps: ready(app), target, size: [width, height], sender, receiver })
    }

    /// What is to be seen.
    pub fn stage(&mut self) -> Mut<'_, OnStage> {
        self.world().resource_mut::<OnStage>()
    }

    /// How it is shown.
    pub fn show(&mut self) -> Mut<'_, Show> {
        self.world().resource_mut::<Show>()
    }

    /// Aims the eye, which is given the box around all that is on stage and the picture's width over its height.
    pub fn aim(&mut self, aim: impl FnOnce(&mut crate::look::eye::Eye, [Vec3; 2], f32)) {
        // One update puts the cast on stage, so that there is something to aim at.
        self.update();
        let bounds = self.world().resource::<Troupe>().bounds().unwrap_or([Vec3::splat(-50.0), Vec3::splat(50.0)]);
        let aspect = self.size[0] as f32 / self.size[1] as f32;
        aim(&mut self.world().resource_mut::<Watch>().0, bounds, aspect);
    }

    /// Measures between what is seen at two places, given as [`Eye::on_screen`](crate::look::eye::Eye::on_screen) gives
    /// them, and writes it into the picture; `None` where nothing is seen.
    pub fn measure(&mut self, places: [Vec2; 2]) -> Option<Measured> {
        self.update();
        let world = self.world();
        let (eye, troupe) = (world.resource::<Watch>().0, world.resource::<Troupe>());
        let cut = world.resource::<Show>().section.map(|section| section.cut());
        let reach = troupe.bounds().map_or(1_000.0, |[low, high]| low.distance(high) + eye.target.distance(low));
        let mut measuring = Measuring::default();
        for place in places {
            measuring.take(pick(troupe.actors(), &ray(&eye, place, reach), cut.as_ref())?);
        }
        self.world().resource_mut::<Notes>().measured = notes_of(&measuring);
        measuring.measured()
    }

    /// Fades what stands before the chain that is looked at.
    pub fn fade(&mut self) {
        self.update();
        let world = self.world();
        let cut = world.resource::<Show>().section.map(|section| section.cut());
        let troupe = world.resource::<Troupe>();
        let found = in_front(&world.resource::<Watch>().0, &troupe.actors(), cut.as_ref());
        self.show().faded = found;
    }

    /// The picture of the moment: the same whenever the same is on stage, on the same driver.
    ///
    /// # Errors
    /// When the device does not give it back.
    pub fn picture(&mut self) -> Result<RgbImage, NotDrawn> {
        self.settle();
        let (sender, target) = (self.sender.clone(), self.target.clone());
        self.world().spawn(Screenshot::image(target)).observe(move |shot: On<ScreenshotCaptured>| {
            // Nobody waits for a picture any more when the receiver is gone.
            let _ = sender.send(shot.image.clone());
        });
        self.update();
        // Reading back ends in a task that may start late, so the device is asked until the picture is there.
        let until = Instant::now() + Duration::from_secs(PATIENCE_S);
        while Instant::now() < until {
            self.poll();
            if self.world().run_system_cached(trigger_screenshots).is_err() {
                break;
            }
            if let Ok(image) = self.receiver.try_recv() {
                return image.try_into_dynamic().map(|image| image.to_rgb8()).map_err(|_| NotDrawn::Lost(0));
            }
            std::thread::sleep(Duration::from_millis(1));
        }
        Err(NotDrawn::Lost(PATIENCE_S))
    }

    fn world(&mut self) -> &mut World {
        self.subapps.main.world_mut()
    }

    fn update(&mut self) {
        self.world().insert_resource(TimeUpdateStrategy::ManualDuration(Duration::ZERO));
        self.subapps.update();
        self.poll();
    }

    /// Updates until no pipeline is waited for; without this the first picture is empty.
    fn settle(&mut self) {
        let mut quiet = 0;
        for _ in 0..MOST_WAITED {
            self.update();
            let renderer = self.subapps.sub_apps.get(&RenderApp.intern());
            let pipelines = renderer.and_then(|renderer| renderer.world().get_resource::<PipelineCache>());
            let waiting = pipelines.is_some_and(|pipelines| pipelines.waiting_pipelines().next().is_some());
            quiet = if waiting { 0 } else { quiet + 1 };
            if quiet == QUIET {
                break;
            }
        }
    }

    /// The device finishes what it was given only when asked.
    fn poll(&mut self) {
        if let Some(device) = self.world().get_resource::<RenderDevice>() {
            // A lost device is noticed by the picture that never comes.
            let _ = device.wgpu_device().poll(PollType::Wait { submission_index: None, timeout: None });
        }
    }
}
