//! From the file to the machine.

use super::check::{check_gaps, check_machine, check_stand};
use super::file::{LayoutFile, PanelDef, PlacedDef};
use super::model::{Model, model};
use super::mount::check_mounts;
use super::names::{PortNames, check_names};
use super::panel::{check_panel, sheet};
use super::stand::{component_pose, panel_pose};
use super::wetted::{Wetted, check_work};
use super::world::{Body, BodyId, BodyKind, Layout, Port, PortId};
use crate::catalog::{Catalog, check_coolant};
use crate::geometry::{Pose, Shape, Solid, along, origin};
use crate::source::{Checker, Document, Place, Problems, Reading, Source, read};
use std::path::Path;

/// How far a port may lie below the surface of its own component, in millimetres. More would leave no room for a
/// fitting; less is the rounding of measured values.
pub const PORT_COVER_MM: f64 = 0.05;

/// Coldest and hottest air that a file may state, in °C.
const AMBIENTS_CELSIUS: [f64; 2] = [-40.0, 80.0];

impl Layout {
    /// Reads a layout from text, RON or JSON (see [`Source`]); `name` is what problems call the file.
    ///
    /// # Errors
    /// Everything that is wrong with the file, with lines and columns.
    pub fn parse(text: &str, name: &str, catalog: &Catalog) -> Result<Self, Problems> {
        Self::from_source(Source::new(name, text), catalog)
    }

    /// Reads a layout from a source.
    ///
    /// # Errors
    /// Everything that is wrong with the file, with lines and columns.
    pub fn from_source(source: Source, catalog: &Catalog) -> Result<Self, Problems> {
        let Reading { data, document, mut problems } = read::<LayoutFile>(source);
        let Some(file) = data else { return Err(problems.in_order()) };
        match resolve(&file, &document, catalog) {
            Ok(layout) => problems.or(layout),
            Err(more) => {
                problems.append(more);
                Err(problems.in_order())
            }
        }
    }

    /// Reads the layout file at `path`.
    ///
    /// # Errors
    /// As [`Layout::parse`], and when the file cannot be read.
    pub fn read(path: impl AsRef<Path>, catalog: &Catalog) -> Result<Self, Problems> {
        Self::from_source(Source::read(path)?, catalog)
    }

    /// A layout put together by a program, held to the same rules as a file.
    ///
    /// # Errors
    /// Every problem, with its place in the data, such as `components[3].at[1]`.
    pub fn from_file(file: &LayoutFile, catalog: &Catalog) -> Result<Self, Problems> {
        resolve(file, &Document::in_memory("layout in memory"), catalog)
    }
}

/// Most solids of one machine. A hand-built one has hundreds; the limit keeps a mistaken file from filling the memory.
const MOST_SOLIDS: usize = 20_000;

/// The JSON Schema of a layout file.
#[must_use]
pub fn schema() -> serde_json::Value {
    schemars::schema_for!(LayoutFile).to_value()
}

/// Bodies and ports as they come about.
#[derive(Default)]
struct Machine {
    bodies: Vec<Body>,
    ports: Vec<Port>,
    names: PortNames,
    solid_count: usize,
}

fn resolve(file: &LayoutFile, document: &Document, catalog: &Catalog) -> Result<Layout, Problems> {
    let mut checker = Checker::new(document);
    check_machine(file, &mut checker);
    let names = check_names(file, &mut checker);
    let mut machine = Machine::default();
    let panels = Place::FILE.field("panels");
    for (index, panel) in file.panels.iter().enumerate() {
        machine.add_panel(panel, &panels.index(index), &mut checker);
    }
    let components = Place::FILE.field("components");
    for (index, placed) in file.components.iter().enumerate() {
        machine.add_component(placed, &components.index(index), catalog, &mut checker);
    }
    machine.mount(&check_mounts(file, &names, &mut checker), file.panels.len());
    let gaps = check_gaps(&file.gaps, &names, &machine.names, &mut checker);
    let ports_by_name = (0..).map(PortId).zip(&machine.ports).map(|(id, port)| (port.name.clone(), id)).collect();
    if let Some(ambient) = file.ambient_celsius {
        let [least, most] = AMBIENTS_CELSIUS;
        checker.within(&Place::FILE.field("ambient_celsius"), ambient, "a temperature of air in °C", least, most);
    }
    let coolant = check_coolant(file.coolant, &Place::FILE.field("coolant"), &mut checker);
    checker.into_problems().or(Layout {
        name: file.name.clone(),
        bodies: machine.bodies,
        ports: machine.ports,
        gaps,
        allowances: file.allowances,
        design_flow_l_min: file.design_flow_l_min,
        ambient_celsius: file.ambient_celsius,
        coolant_def: file.coolant,
        coolant,
        ports_by_name,
    })
}

impl Machine {
    fn add_panel(&mut self, panel: &PanelDef, place: &Place<'_>, checker: &mut Checker<'_>) {
        let before = checker.count();
        check_panel(panel, place, checker);
        let pose = panel_pose(panel, place, checker);
        let sound = checker.count() == before && checker.is_sure(place);
        let Some(pose) = pose.filter(|_| sound) else { return };
        let solids = self.placed_solids(&sheet(panel), &pose, place, checker);
        self.bodies.push(Body {
            name: panel.name.clone(),
            kind: BodyKind::Panel { removable: panel.removable },
            solids,
            play_mm: [0.0; 3],
            play_turn_deg: 0.0,
            mounted_on: None,
            pose,
            wetted: Wetted::default(),
        });
    }

    fn add_component(&mut self, placed: &PlacedDef, place: &Place<'_>, catalog: &Catalog, checker: &mut Checker<'_>) {
        let before = checker.count();
        check_stand(placed, place, checker);
        check_work(placed, place, checker);
        let pose = component_pose(placed, place, checker);
        let Some(model) = model(placed, place, catalog, checker) else {
            self.names.obscure.insert(placed.name.clone());
            return;
        };
        let names = model.ports.iter().map(|port| format!("{}.{}", placed.name, port.name));
        self.names.known.extend(names.clone());
        if !model.names_are_sure {
            self.names.obscure.insert(placed.name.clone());
        }
        let sound = checker.count() == before && checker.is_sure(place);
        let Some(pose) = pose.filter(|_| sound) else {
            check_cover_alone(placed, &model, place, checker);
            return;
        };
        let solids = self.placed_solids(&model.solids, &pose, place, checker);
        check_cover(placed, &model, &pose, &solids, place, checker);
        // Far fewer bodies than that fit into a source.
        let Ok(body) = u32::try_from(self.bodies.len()).map(BodyId) else { return };
        self.ports.extend(names.zip(&model.ports).map(|(name, port)| Port {
            name,
            body,
            pose: pose * port.pose,
            thread: port.thread,
            gender: port.gender,
            thread_length_mm: port.thread_length_mm,
            seat_mm: port.seat_mm,
            stand_off_mm: port.stand_off_mm,
        }));
        self.bodies.push(Body {
            name: placed.name.clone(),
            kind: BodyKind::Component,
            solids,
            play_mm: placed.play,
            play_turn_deg: placed.play_turn_deg,
            mounted_on: None,
            pose,
            wetted: model.wetted,
        });
    }

    /// Puts components on what carries them, which is known by its place among the components. Bodies that were left out
    /// shift those places, but then there is a problem and no layout.
    fn mount(&mut self, carriers: &[Option<usize>], panels: usize) {
        for (body, carrier) in self.bodies.iter_mut().skip(panels).zip(carriers) {
            body.mounted_on = carrier.and_then(|carrier| u32::try_from(panels + carrier).ok()).map(BodyId);
        }
    }

    fn placed_solids(
        &mut self,
        solids: &[(Shape, Pose)],
        pose: &Pose,
        place: &Place<'_>,
        checker: &mut Checker<'_>,
    ) -> Vec<Solid> {
        let fitted_before = self.solid_count <= MOST_SOLIDS;
        self.solid_count += solids.len();
        if self.solid_count > MOST_SOLIDS {
            if fitted_before {
                let message = format!("expected at most {MOST_SOLIDS} solids in all, found more from here on");
                checker.refuse(
                    place,
                    message,
                    "describe bodies more coarsely, and leave out holes that nothing enters",
                );
            }
            return Vec::new();
        }
        let mut placed = Vec::with_capacity(solids.len());
        for (shape, local) in solids {
            match Solid::new(shape, pose * local) {
                Ok(solid) => placed.push(solid),
                Err(bad) => checker.refuse(place, bad.to_string(), "correct the sizes of this part or of its template"),
            }
        }
        placed
    }
}

/// The same for a component that cannot be placed, because of what has nothing to do with its ports.
fn check_cover_alone(placed: &PlacedDef, model: &Model, place: &Place<'_>, checker: &mut Checker<'_>) {
    if !model.solids_are_sure || checker.is_full() {
        return;
    }
    let solids = model.solids.iter().map(|(shape, pose)| Solid::new(shape, *pose));
    // A solid that cannot be made is said of those that can be placed.
    if let Ok(solids) = solids.collect::<Result<Vec<_>, _>>() {
        check_cover(placed, model, &Pose::identity(), &solids, place, checker);
    }
}

/// A port must open to the outside: just in front of it there is none of its own component.
fn check_cover(
    placed: &PlacedDef,
    model: &Model,
    pose: &Pose,
    solids: &[Solid],
    place: &Place<'_>,
    checker: &mut Checker<'_>,
) {
    for (index, port) in model.ports.iter().enumerate().filter(|(_, port)| port.is_placed) {
        let front = origin(&(pose * port.pose * along(PORT_COVER_MM)));
        if solids.iter().any(|solid| solid.contains(front)) {
            let message = format!("port `{}` is covered by a solid of its own component", port.name);
            let list = place.field("ports");
            let (place, help) = match &placed.template {
                Some(_) => (place.field("template"), "correct the template in its catalog"),
                None => (list.index(index), "put the port on the surface, facing out"),
            };
            checker.refuse(&place, message, help);
        }
    }
}
