//! A picture of the window itself, panels and all: written once everything is solved, and then the window closes.

use crate::app::DeskResource;
use bevy::{
    prelude::*,
    render::view::screenshot::{Screenshot, ScreenshotCaptured, save_to_disk},
    window::RequestRedraw,
};
use std::path::PathBuf;

/// Writes the window's picture to a file and ends the program.
#[derive(Clone, Debug)]
pub struct PortraitPlugin {
    /// The file, a PNG.
    pub path: PathBuf,
}

#[derive(Resource, Debug)]
struct Portrait {
    path: PathBuf,
    /// Frames since everything was solved.
    still: u32,
}

/// Frames that everything must have been still for: panels take two to find their sizes, and the scene follows them.
const STILL_FRAMES: u32 = 20;

impl Plugin for PortraitPlugin {
    fn build(&self, app: &mut App) {
        app.insert_resource(Portrait { path: self.path.clone(), still: 0 }).add_systems(Last, shoot);
    }
}

fn shoot(
    mut commands: Commands,
    desk: Res<DeskResource>,
    mut portrait: ResMut<Portrait>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    redraw.write(RequestRedraw);
    if desk.0.progress().is_some() {
        portrait.still = 0;
        return;
    }
    portrait.still += 1;
    if portrait.still == STILL_FRAMES {
        commands.spawn(Screenshot::primary_window()).observe(save_to_disk(portrait.path.clone())).observe(
            |_: On<ScreenshotCaptured>, mut exit: MessageWriter<AppExit>| {
                exit.write(AppExit::Success);
            },
        );
    }
}
