//! A field with everything that a plan is made from.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use geo::{Contains as _, Coord, Point};

use crate::density::{self, PatchRule, Patches, Surface};
use crate::model::{Field, FieldId, PlanSettings, Records};
use crate::stops::candidates::{Among, Edges, candidates};
use crate::stops::extension::Likeness;
use crate::stops::search;
use crate::stops::{Cell, PlanError, Spot};
use crate::walk::{Network, Position, Site};

/// More cells than this are joined by fours for the swaps.
const FINE_CELLS: usize = 1_500;

/// The likeness of a population within itself is counted over about so many blocks.
const LIKENESS_BLOCKS: usize = 400;

/// A field with everything that a plan is made from.
pub(super) struct Ground<'a> {
    pub field: &'a Field,
    /// The settings it was looked at with; the number of stops, the seed and the way of choosing say nothing here.
    pub settings: PlanSettings,
    pub site: Site,
    pub network: Network,
    /// The edges of the open ground.
    pub edges: Edges,
    pub surface: Surface,
    pub patches: Patches,
    /// Every cell of the field.
    pub all: Vec<Cell>,
    /// The cells on the ground where stops may lie: what the plan speaks for.
    pub cells: Vec<Cell>,
    /// The same, joined by fours where there are many.
    pub coarse: Vec<Cell>,
    /// Share of the field's population on those cells, 0 to 1.
    pub reached: f64,
    /// Candidates, by [`Among`]: looked for when they are first asked for.
    places: [OnceLock<Vec<Spot>>; 3],
    hold: OnceLock<Option<usize>>,
    likeness: OnceLock<Likeness>,
}

impl<'a> Ground<'a> {
    pub fn of(records: &'a Records, field: FieldId, year: i32, settings: &PlanSettings) -> Result<Self, PlanError> {
        let field = records.fields.get(&field).ok_or(PlanError::NoField)?;
        let no_shape = || PlanError::NoRoom {
            field: field.name.clone(),
            why: "it has no usable boundary; draw or import it again".to_owned(),
        };
        let site = Site::of(records, field).ok_or_else(no_shape)?;
        let surface = density::surface(records, field, year, settings.cell_m).ok_or_else(no_shape)?;
        let network = Network::of(&site);
        let patches = density::patches(&surface, &PatchRule::from(settings));
        let headland = if network.has_tramlines() { site.headland_m() } else { 0.0 };
        let edges = Edges::of(&site.open);
        let is_target = |at: Coord<f64>| site.open.contains(&Point(at)) && edges.is_off(at, headland);

        let grid = &surface.grid;
        let greatest = grid.cells().map(|(_, value)| value).fold(0.0, f64::max);
        let cell = |at: Coord<f64>, value: f64| {
            // Relative to the greatest, so that the unit of density changes nothing; an empty field counts as even.
            let relative = if greatest > 0.0 { value / greatest } else { 1.0 };
            Cell { at, population: relative, weight: relative.powf(settings.exponent) }
        };
        let all: Vec<Cell> = grid.cells().map(|(at, value)| cell(at, value)).collect();
        let mut cells = Vec::new();
        let mut joined: BTreeMap<(usize, usize), Vec<Cell>> = BTreeMap::new();
        for (index, value) in grid.values.iter().enumerate().filter(|(_, value)| !value.is_nan()) {
            let (column, row) = (index % grid.columns, index / grid.columns);
            let at = grid.centre(column, row);
            if is_target(at) {
                cells.push(cell(at, *value));
                joined.entry((row / 2, column / 2)).or_default().push(cell(at, *value));
            }
        }
        let population = |cells: &[Cell]| cells.iter().map(|cell| cell.population).sum::<f64>();
        let reached = if population(&all) > 0.0 { population(&cells) / population(&all) } else { 1.0 };
        if population(&cells) <= 0.0 {
            // Nothing stands where stops may lie: they spread evenly there.
            for cell in cells.iter_mut().chain(joined.values_mut().flatten()) {
                (cell.population, cell.weight) = (1.0, 1.0);
            }
        }
        let coarse =
            if cells.len() > FINE_CELLS { joined.into_values().map(|part| middle(&part)).collect() } else { cells.clone() };
        Ok(Self {
            field,
            settings: settings.clone(),
            site,
            network,
            edges,
            surface,
            patches,
            all,
            cells,
            coarse,
            reached,
            places: Default::default(),
            hold: OnceLock::new(),
            likeness: OnceLock::new(),
        })
    }

    /// Where a stop may be, in the order of candidates.
    pub fn places(&self, among: Among) -> &[Spot] {
        self.places[among as usize].get_or_init(|| candidates(self, among))
    }

    /// How many stops the tramlines inside patches hold; none: there are no patches.
    pub fn patches_hold(&self) -> Option<usize> {
        *self.hold.get_or_init(|| search::patches_hold(self))
    }

    /// How far the field's population is alike.
    pub fn likeness(&self) -> &Likeness {
        self.likeness.get_or_init(|| {
            let grid = &self.surface.grid;
            let cells = self.all.len();
            let side = (cells / LIKENESS_BLOCKS).isqrt() + 1;
            let mut joined: BTreeMap<(usize, usize), Vec<Cell>> = BTreeMap::new();
            let own = grid.values.iter().enumerate().filter(|(_, value)| !value.is_nan()).map(|(index, _)| index);
            for (index, cell) in own.zip(&self.all) {
                joined.entry((index / grid.columns / side, index % grid.columns / side)).or_default().push(*cell);
            }
            let blocks: Vec<Cell> = joined.into_values().map(|part| middle(&part)).collect();
            Likeness::of(&self.all, &blocks, grid.cell_m * side as f64, self.settings.alike_m)
        })
    }

    pub fn no_room(&self) -> PlanError {
        let gates = match self.site.gates.len() {
            0 => String::new(),
            _ => format!(" and {:.0} m round each gate", self.settings.gate_exclusion_m),
        };
        let why = format!("a headland of {:.0} m{gates} takes up all the tramlines; lessen it", self.site.headland_m());
        PlanError::NoRoom { field: self.field.name.clone(), why }
    }

    /// The place as a spot: with the patch that it lies in.
    pub fn spot(&self, position: Position) -> Spot {
        Spot::new(position, self.patch_at(position.at))
    }

    /// Index of the patch that a place lies in.
    pub fn patch_at(&self, at: Coord<f64>) -> Option<usize> {
        let (column, row) = self.surface.grid.cell_at(at)?;
        self.patches.of_cell.get(row * self.surface.grid.columns + column).copied().flatten()
    }

    /// Pinned places, degrees, as spots on the nearest tramline.
    pub fn pinned(&self, positions: &[Coord<f64>]) -> Vec<Spot> {
        let snapped = positions.iter().map(|position| self.network.snap(self.site.plane.metres(*position)));
        snapped.map(|position| Spot { pinned: true, ..self.spot(position) }).collect()
    }
}

/// Cells as one: population and weight add up, the place is their middle.
fn middle(part: &[Cell]) -> Cell {
    let sum = |of: fn(&Cell) -> f64| part.iter().map(of).sum::<f64>();
    Cell {
        at: Coord { x: sum(|cell| cell.at.x), y: sum(|cell| cell.at.y) } / part.len() as f64,
        population: sum(|cell| cell.population),
        weight: sum(|cell| cell.weight),
    }
}
