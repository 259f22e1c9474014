//! Bevy's camera, placed where the [`Eye`] says, with a light beside it.

use super::eye::{Eye, FIELD_OF_VIEW};
use super::{Show, palette::Palette};
use crate::scene::{Troupe, present::Present};
use bevy::{
    camera::{CameraOutputMode, RenderTarget, ScalingMode},
    core_pipeline::tonemapping::{DebandDither, Tonemapping},
    prelude::*,
    transform::TransformSystems,
};

/// Keeps the camera where the eye is.
#[derive(Debug)]
pub struct CameraPlugin;

/// From where the scene is looked at.
#[derive(Resource, Clone, Copy, Debug, Default, PartialEq)]
pub struct Watch(pub Eye);

/// The camera of the scene.
#[derive(Component, Debug)]
pub struct SceneCamera;

impl Plugin for CameraPlugin {
    fn build(&self, app: &mut App) {
        app.init_resource::<Watch>()
            .init_resource::<ClearColor>()
            .add_systems(PostUpdate, (place, ground).after(Present).before(TransformSystems::Propagate));
    }
}

/// Adds the camera of the scene, which draws into `target`, and its lights.
pub fn spawn(commands: &mut Commands, target: RenderTarget) {
    commands
        .spawn((
            SceneCamera,
            Camera3d::default(),
            Camera { output_mode: CameraOutputMode::default(), ..default() },
            target,
            IsDefaultUiCamera,
            Msaa::Sample4,
            // The palette's colours as they are written down.
            Tonemapping::None,
            DebandDither::Disabled,
            Transform::default(),
            Projection::default(),
        ))
        .with_children(|eye| {
            // Over the left shoulder, and a weaker one from the right, so that no view is without shading.
            for (illuminance, from) in [(2_000.0, Vec3::new(-0.45, 0.8, 1.0)), (700.0, Vec3::new(0.9, -0.2, 0.6))] {
                eye.spawn((
                    DirectionalLight { illuminance, shadow_maps_enabled: false, ..default() },
                    Transform::from_translation(from).looking_at(Vec3::ZERO, Vec3::Y),
                ));
            }
        });
}

/// Where Bevy's camera stands for an eye, and its projection, for a scene within `bounds`.
#[must_use]
pub fn placed(eye: &Eye, bounds: Option<[Vec3; 2]>) -> (Transform, Projection) {
    let [_, _, out] = eye.axes();
    let [low, high] = bounds.unwrap_or([eye.target, eye.target]);
    // Far enough to be outside of everything, whatever the eye is aimed at.
    let reach = low.distance(high) + eye.target.distance(low.midpoint(high)) + eye.span_mm;
    let (distance, projection) = if eye.parallel {
        let scaling_mode = ScalingMode::FixedVertical { viewport_height: eye.span_mm };
        let projection = OrthographicProjection {
            scaling_mode,
            near: 0.0,
            far: 2.0 * reach,
            ..OrthographicProjection::default_3d()
        };
        (reach, Projection::Orthographic(projection))
    } else {
        let distance = eye.distance_mm();
        let near = (distance * 0.01).max(0.1);
        let projection = PerspectiveProjection { fov: FIELD_OF_VIEW, near, far: distance + reach, ..default() };
        (distance, Projection::Perspective(projection))
    };
    (Transform::from_translation(eye.target + out * distance).with_rotation(eye.rotation()), projection)
}

fn place(
    watch: Res<Watch>,
    troupe: Res<Troupe>,
    camera: Option<Single<(&mut Transform, &mut Projection), With<SceneCamera>>>,
) {
    let Some(camera) = camera else { return };
    let (mut transform, mut projection) = camera.into_inner();
    let (wanted, how) = placed(&watch.0, troupe.bounds());
    transform.set_if_neq(wanted);
    // Written only when something moved: every write makes Bevy work the frustum out again.
    if watch.is_changed() || troupe.is_changed() {
        let aspect = match (&*projection, how) {
            (Projection::Perspective(old), Projection::Perspective(new)) => {
                Projection::Perspective(PerspectiveProjection { aspect_ratio: old.aspect_ratio, ..new })
            }
            (Projection::Orthographic(old), Projection::Orthographic(new)) => {
                Projection::Orthographic(OrthographicProjection { area: old.area, ..new })
            }
            (_, new) => new,
        };
        *projection = aspect;
    }
}

fn ground(show: Res<Show>, mut clear: ResMut<ClearColor>) {
    let ground = Palette::new(show.dark).ground.into();
    if clear.0 != ground {
        clear.0 = ground;
    }
}
