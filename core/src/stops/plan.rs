//! Plans: proposed, or moved by hand.

use std::collections::BTreeMap;

use geo::{Contains as _, Coord, LineString};
use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;

use crate::density::{self, Surface, SurfaceMethod};
use crate::model::{Field, FieldId, Method, Patch, Plan, PlanId, PlanSettings, Records, Stop, Walk};
use crate::progress::Progress;
use crate::stops::candidates::{Among, candidates, near_gate};
use crate::stops::cover::{Span, move_one, score, spread_of, start, swap};
use crate::stops::{Cell, PlanError, figures, shares};
use crate::units::count;
use crate::walk::{Network, Position, Route, Site, inset, shortest_walk};

/// Starts that are worth the swaps: the best of them before.
const SWAPPED_STARTS: usize = 8;
/// So often a plan that is not yet balanced is shaken and swapped again.
const KICKS: usize = 12;
/// A plan that scores below this, balance and a little for spread, is balanced well enough.
const BALANCED: f64 = 0.01;
/// A share of the population on the headland that is worth a note.
const MUCH_ON_HEADLAND: f64 = 0.3;
/// More cells than this are joined by fours for the swaps.
const FINE_CELLS: usize = 3_000;

/// Proposes a plan for a field and harvest year. Same records, settings and seed: same plan but for its identifier.
pub fn propose(
    records: &Records,
    field: FieldId,
    year: i32,
    settings: &PlanSettings,
    progress: &dyn Progress,
) -> Result<Plan, PlanError> {
    check(settings)?;
    let ground = Ground::of(records, field, year, settings)?;
    // First as if there were no gate: if no stop comes to lie near one, the stops do not depend on where the gates are.
    let mut chosen = choose(&ground, settings, Among::OffHeadland, progress)?;
    if chosen.stops.iter().any(|stop| near_gate(&ground.site, settings, stop.at)) {
        chosen = choose(&ground, settings, Among::OffHeadlandAndGate, progress)?;
    }
    let mut plan = ground.plan(PlanId::new(), year, settings, &chosen.stops)?;
    plan.notes = notes(&ground, settings, &plan, &chosen);
    Ok(plan)
}

/// Stops, and what they were asked to span.
struct Chosen {
    stops: Vec<Position>,
    span: Span,
    /// Whether some of the candidates lie in patches.
    in_patches: bool,
}

/// The best of many starts of even cover.
fn choose(ground: &Ground<'_>, settings: &PlanSettings, among: Among, progress: &dyn Progress) -> Result<Chosen, PlanError> {
    let places = candidates(&ground.site, &ground.network, &ground.surface.grid, settings, among);
    if places.is_empty() {
        return Err(ground.no_room(settings));
    }
    let in_patches: Vec<Position> = ground.in_patches(&places);
    let span = Span::allowed(settings, settings.stops, if in_patches.is_empty() { &places } else { &in_patches });

    let coarse = coarser(&ground.cells, settings.cell_m);
    let steps = settings.starts + SWAPPED_STARTS;
    let mut starts = Vec::new();
    for number in 0..settings.starts {
        progress.check(number, steps)?;
        let mut random = ChaCha8Rng::seed_from_u64(settings.seed);
        random.set_stream(number as u64);
        let stops = start(&ground.cells, &places, settings, &mut random);
        starts.push((score(&coarse, &stops, span, spread_of(&coarse, &stops)), stops));
    }
    // More stops come before better ones: a start that left no room for one is no better for that.
    starts.sort_by(|a, b| b.1.len().cmp(&a.1.len()).then(a.0.total_cmp(&b.0)));
    starts.truncate(SWAPPED_STARTS);
    let most = starts.first().map_or(0, |(_, stops)| stops.len());
    starts.retain(|(_, stops)| stops.len() == most);
    let reference = starts.first().map_or(1.0, |(_, stops)| spread_of(&coarse, stops));
    let mut best: Option<(f64, Vec<Position>)> = None;
    for (number, (_, mut stops)) in starts.into_iter().enumerate() {
        progress.check(settings.starts + number, steps)?;
        swap(&coarse, &places, settings, span, reference, &mut stops);
        let reached = score(&ground.cells, &stops, span, reference);
        if best.as_ref().is_none_or(|(held, _)| reached < *held) {
            best = Some((reached, stops));
        }
    }
    let (mut reached, mut stops) = best.unwrap_or_default();
    // Swaps of one stop at a time can end where only two together would help: move one somewhere else and swap again.
    let mut random = ChaCha8Rng::seed_from_u64(settings.seed);
    random.set_stream(u64::MAX);
    let around = if in_patches.is_empty() { &places } else { &in_patches };
    for kick in 0..KICKS {
        if reached < BALANCED || stops.len() < 2 {
            break;
        }
        progress.check(steps + kick, steps + KICKS)?;
        let mut kicked = stops.clone();
        move_one(around, settings, &mut kicked, &mut random);
        swap(&coarse, &places, settings, span, reference, &mut kicked);
        let score = score(&ground.cells, &kicked, span, reference);
        if score < reached {
            (reached, stops) = (score, kicked);
        }
    }
    Ok(Chosen { stops, span, in_patches: !in_patches.is_empty() })
}

/// The plan with its stops moved by hand: positions in degrees, each taken to the nearest tramline; shares, walk and figures
/// follow. Same identifier. What the hand breaks of the settings stands in the notes.
pub fn with_stops(records: &Records, plan: &Plan, positions: &[Coord<f64>]) -> Result<Plan, PlanError> {
    if positions.is_empty() {
        return Err(PlanError::Settings("a plan needs at least one stop".to_owned()));
    }
    let ground = Ground::of(records, plan.field, plan.year, &plan.settings)?;
    let stops: Vec<Position> =
        positions.iter().map(|position| ground.network.snap(ground.site.plane.metres(*position))).collect();
    let mut moved = ground.plan(plan.id, plan.year, &plan.settings, &stops)?;
    moved.notes = broken_by_hand(&ground, &plan.settings, &moved);
    Ok(moved)
}

/// The tramlines of a field as lines in degrees, clipped to it, with their numbers; the headland loops have none.
pub fn tramline_lines(records: &Records, field: FieldId) -> Vec<(Option<i32>, LineString<f64>)> {
    let Some(site) = records.fields.get(&field).and_then(|field| Site::of(records, field)) else { return Vec::new() };
    let network = Network::of(&site);
    let degrees = |line: geo::Line<f64>| site.plane.to_degrees(&LineString::from(line));
    let tramlines = network.tramlines.iter().map(|piece| (Some(piece.line), degrees(piece.along)));
    tramlines.chain(network.loops.iter().map(|edge| (None, degrees(*edge)))).collect()
}

fn check(settings: &PlanSettings) -> Result<(), PlanError> {
    let wrong = |text: &str| Err(PlanError::Settings(text.to_owned()));
    let positive = |value: f64| value > 0.0 && value.is_finite();
    if settings.stops == 0 || settings.stops > 200 {
        return wrong("the number of stops must be from 1 to 200");
    }
    if settings.starts == 0 || settings.starts > 1000 {
        return wrong("the number of starts must be from 1 to 1000");
    }
    if !(positive(settings.candidate_step_m) && positive(settings.cell_m) && positive(settings.walking_km_per_h)) {
        return wrong("step, cell and walking speed must be above 0");
    }
    if !(0.0..=10.0).contains(&settings.exponent) {
        return wrong("the exponent must be from 0 to 10");
    }
    let not_negative = [settings.gate_exclusion_m, settings.min_spacing_m, settings.min_extent_m, settings.minutes_a_stop];
    if not_negative.iter().any(|value| !(*value >= 0.0 && value.is_finite())) {
        return wrong("distances and minutes must not be negative");
    }
    if !((0.0..=1.0).contains(&settings.frequency) && (0.0..=1.0).contains(&settings.rho)) {
        return wrong("frequency and correlation must be from 0 to 1");
    }
    Ok(())
}

/// A field with everything that a plan is made from.
struct Ground<'a> {
    field: &'a Field,
    site: Site,
    network: Network,
    surface: Surface,
    cells: Vec<Cell>,
    patches: Vec<Patch>,
}

impl<'a> Ground<'a> {
    fn of(records: &'a Records, field: FieldId, year: i32, settings: &PlanSettings) -> Result<Self, PlanError> {
        let field = records.fields.get(&field).ok_or(PlanError::NoField)?;
        let no_shape = || PlanError::NoRoom {
            field: field.name.clone(),
            why: "it has no usable boundary; draw or import it again".to_owned(),
        };
        let site = Site::of(records, field).ok_or_else(no_shape)?;
        let surface = density::surface(records, field, year, settings.cell_m).ok_or_else(no_shape)?;
        let network = Network::of(&site);
        let patches = density::patches(&surface, settings.patch_limit);
        let greatest = surface.grid.cells().map(|(_, value)| value).fold(0.0, f64::max);
        let cells = surface
            .grid
            .cells()
            .map(|(at, value)| {
                // Relative to the greatest, so that the unit of density changes nothing; an empty field counts as even.
                let relative = if greatest > 0.0 { value / greatest } else { 1.0 };
                Cell { at, population: relative, weight: relative.powf(settings.exponent) }
            })
            .collect();
        Ok(Self { field, site, network, surface, cells, patches })
    }

    fn no_room(&self, settings: &PlanSettings) -> PlanError {
        let headland = self.site.tramlines.as_ref().map_or(0.0, |(_, lines)| lines.headland_m);
        let gates = match self.site.gates.len() {
            0 => String::new(),
            _ => format!(" and {:.0} m round each gate", settings.gate_exclusion_m),
        };
        let why = format!("a headland of {headland:.0} m{gates} takes up all the tramlines; lessen it");
        PlanError::NoRoom { field: self.field.name.clone(), why }
    }

    /// Share of the population nearer to the edge of open ground than the headland is wide.
    fn population_on_headland(&self) -> f64 {
        let Some((_, lines)) = self.site.tramlines.as_ref().filter(|_| self.network.has_tramlines()) else { return 0.0 };
        let inside = inset(&self.site.open, lines.headland_m);
        let total: f64 = self.cells.iter().map(|cell| cell.population).sum();
        let within = |cell: &&Cell| inside.contains(&geo::Point(cell.at));
        1.0 - self.cells.iter().filter(within).map(|cell| cell.population).sum::<f64>() / total
    }

    /// The places that lie in a patch.
    fn in_patches(&self, places: &[Position]) -> Vec<Position> {
        let outlines: Vec<_> = self.patches.iter().map(|patch| self.site.plane.to_metres(&patch.outline)).collect();
        let inside = |place: &&Position| outlines.iter().any(|outline| outline.contains(&geo::Point(place.at)));
        places.iter().filter(inside).copied().collect()
    }

    fn plan(&self, id: PlanId, year: i32, settings: &PlanSettings, stops: &[Position]) -> Result<Plan, PlanError> {
        let places: Vec<Coord<f64>> = stops.iter().map(|stop| stop.at).collect();
        let route = shortest_walk(&self.network, &self.site.gates, &places).ok_or_else(|| PlanError::NoRoom {
            field: self.field.name.clone(),
            why: "no way leads to every stop; check the boundary and the no-go areas".to_owned(),
        })?;
        let held = shares(&self.cells, &places);
        let plane = &self.site.plane;
        let ordered: Vec<Stop> = route
            .order
            .iter()
            .map(|index| Stop {
                position: plane.degrees(places[*index]),
                share: held[*index],
                tramline: stops[*index].tramline,
            })
            .collect();
        Ok(Plan {
            id,
            field: self.field.id,
            year,
            method: Method::EvenCover,
            settings: settings.clone(),
            walk: self.walk(&route, settings, places.len()),
            gate: route.gate.map(|gate| plane.degrees(gate)),
            stops: ordered,
            patches: self.patches.clone(),
            figures: figures(&self.cells, stops, &self.site.gates, settings),
            gate_figures: self
                .at_gate(settings, stops.len())
                .map(|stops| figures(&self.cells, &stops, &self.site.gates, settings)),
            notes: Vec::new(),
        })
    }

    fn walk(&self, route: &Route, settings: &PlanSettings, stops: usize) -> Walk {
        let metres_a_minute = settings.walking_km_per_h * 1000.0 / 60.0;
        Walk {
            line: self.site.plane.to_degrees(&route.line),
            length_m: route.length_m,
            minutes: route.length_m / metres_a_minute + stops as f64 * settings.minutes_a_stop,
            exact: route.exact,
        }
    }

    /// The same number of stops as people take them who do not go far in: the places on tramlines nearest to the gate.
    fn at_gate(&self, settings: &PlanSettings, count: usize) -> Option<Vec<Position>> {
        let gate = *self.site.gates.first()?;
        let mut places = candidates(&self.site, &self.network, &self.surface.grid, settings, Among::All);
        let away = |place: &Position| geo::Distance::distance(&geo::Euclidean, place.at, gate);
        places.sort_by(|a, b| away(a).total_cmp(&away(b)));
        places.truncate(count);
        (!places.is_empty()).then_some(places)
    }
}

/// Cells joined two by two in both directions where there are many: population and weight add up, the place is their middle.
fn coarser(cells: &[Cell], cell_m: f64) -> Vec<Cell> {
    if cells.len() <= FINE_CELLS {
        return cells.to_vec();
    }
    let mut joined: BTreeMap<(i64, i64), Vec<&Cell>> = BTreeMap::new();
    for cell in cells {
        let key = ((cell.at.x / (2.0 * cell_m)).floor() as i64, (cell.at.y / (2.0 * cell_m)).floor() as i64);
        joined.entry(key).or_default().push(cell);
    }
    let sum = |part: &[&Cell], of: fn(&Cell) -> f64| part.iter().map(|cell| of(cell)).sum::<f64>();
    let cell = |part: Vec<&Cell>| Cell {
        at: Coord { x: sum(&part, |cell| cell.at.x), y: sum(&part, |cell| cell.at.y) } / part.len() as f64,
        population: sum(&part, |cell| cell.population),
        weight: sum(&part, |cell| cell.weight),
    };
    joined.into_values().map(cell).collect()
}

fn notes(ground: &Ground<'_>, settings: &PlanSettings, plan: &Plan, chosen: &Chosen) -> Vec<String> {
    let mut notes = Vec::new();
    if ground.surface.method == SurfaceMethod::Even {
        notes.push("The field was not scouted: the stops spread evenly over it.".to_owned());
    }
    if !ground.network.has_tramlines() {
        notes.push(
            "No tramlines are known here: the stops lie anywhere, and the walk goes straight through the crop.".to_owned(),
        );
    }
    if ground.site.gates.is_empty() {
        notes.push("No gate is known: the walk starts at its first stop.".to_owned());
    }
    let headland = ground.population_on_headland();
    if headland > MUCH_ON_HEADLAND {
        notes.push(format!(
            "{:.0} % of the population lies on the headland, where no stop is placed; the nearest stops stand for it.",
            100.0 * headland
        ));
    }
    let taken = plan.stops.len();
    if taken < settings.stops {
        notes.push(format!(
            "Only {} of {} fit at least {:.0} m apart between headland, gate and no-go areas.",
            taken, settings.stops, settings.min_spacing_m
        ));
    }
    let place = if chosen.in_patches { "patches" } else { "field" };
    let lines_wanted = settings.min_tramlines.min(settings.stops);
    if ground.network.has_tramlines() && plan.figures.tramlines < lines_wanted {
        notes.push(format!(
            "The stops lie on {} instead of {lines_wanted}: {}.",
            count(plan.figures.tramlines, "tramline"),
            if chosen.span.tramlines < lines_wanted {
                format!("no more cross the {place}")
            } else {
                "balance and spacing leave no other place".to_owned()
            }
        ));
    }
    if taken > 1 && plan.figures.extent_m < settings.min_extent_m {
        notes.push(format!(
            "The stops span {:.0} m instead of {:.0} m: the {place} {} no larger.",
            plan.figures.extent_m,
            settings.min_extent_m,
            if chosen.in_patches { "are" } else { "is" }
        ));
    }
    notes
}

fn broken_by_hand(ground: &Ground<'_>, settings: &PlanSettings, plan: &Plan) -> Vec<String> {
    let at: Vec<Coord<f64>> = plan.stops.iter().map(|stop| ground.site.plane.metres(stop.position)).collect();
    let away = |a: Coord<f64>, b: Coord<f64>| geo::Distance::distance(&geo::Euclidean, a, b);
    let mut notes = Vec::new();
    for (index, stop) in at.iter().enumerate() {
        let number = index + 1;
        if ground.site.gates.iter().any(|gate| away(*gate, *stop) < settings.gate_exclusion_m) {
            notes.push(format!("Stop {number} lies within {:.0} m of a gate.", settings.gate_exclusion_m));
        }
        for (other, place) in at.iter().enumerate().skip(index + 1) {
            if away(*place, *stop) < settings.min_spacing_m {
                notes.push(format!("Stops {number} and {} lie nearer than {:.0} m.", other + 1, settings.min_spacing_m));
            }
        }
    }
    notes
}
