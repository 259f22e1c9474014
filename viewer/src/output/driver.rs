//! Whether anything here can draw. Bevy panics without a driver, so it is asked before.

use bevy::render::settings::{Backends, WgpuSettings};
use std::sync::OnceLock;

/// No driver for drawing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "expected a Vulkan driver to draw with, found none; install the one of your graphics card, or a driver that draws \
     without a card (on Debian and Ubuntu: apt install mesa-vulkan-drivers)"
)]
pub struct NoDriver;

/// The kinds of drivers that are looked for: those of the day, since OpenGL's would draw otherwise.
#[must_use]
pub fn backends() -> Backends {
    WgpuSettings::default().backends.unwrap_or(Backends::empty()) & Backends::PRIMARY
}

/// The name of a device that can draw, such as a graphics card's. Looked for once, since that takes a good part of the
/// time to the first picture.
///
/// # Errors
/// When there is none.
pub fn driver() -> Result<String, NoDriver> {
    static FOUND: OnceLock<Result<String, NoDriver>> = OnceLock::new();
    FOUND.get_or_init(look).clone()
}

fn look() -> Result<String, NoDriver> {
    let backends = backends();
    let mut descriptor = wgpu::InstanceDescriptor::new_without_display_handle();
    descriptor.backends = backends;
    let instance = wgpu::Instance::new(descriptor);
    let adapters = bevy::tasks::block_on(instance.enumerate_adapters(backends));
    adapters.first().map(|adapter| adapter.get_info().name).ok_or(NoDriver)
}
