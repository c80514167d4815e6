//! Plans: proposed, or moved by hand.

use geo::{Closest, ClosestPoint as _, Coord, Distance as _, Euclidean, LineString, Point};
use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;

use crate::model::{FieldId, GateId, MeanEstimate, Method, Plan, PlanId, PlanSettings, Records, Stop, Walk};
use crate::progress::Progress;
use crate::stops::candidates::Among;
use crate::stops::ground::Ground;
use crate::stops::kmeans::nearest_of;
use crate::stops::search::{even_cover, represented};
use crate::stops::{
    PlanError, Spot, advice, figures, horvitz_thompson, inclusion_probabilities, local_pivotal, notes, places_of, practice,
    shares,
};
use crate::walk::{Network, Route, Site, WalkWish, shortest_walks};

/// Proposes a plan for a field and harvest year. Same records, settings and seed: same plan but for its identifier.
pub fn propose(
    records: &Records,
    field: FieldId,
    year: i32,
    settings: &PlanSettings,
    progress: &dyn Progress,
) -> Result<Plan, PlanError> {
    propose_around(records, field, year, settings, &[], progress)
}

/// As [`propose`], with stops that stay where they are: positions in degrees, each taken to the nearest tramline. They count among
/// the stops wanted, and need not keep the distances asked for.
pub fn propose_around(
    records: &Records,
    field: FieldId,
    year: i32,
    settings: &PlanSettings,
    pinned: &[Coord<f64>],
    progress: &dyn Progress,
) -> Result<Plan, PlanError> {
    check(settings)?;
    let ground = Ground::of(records, field, year, settings)?;
    propose_on(&ground, year, settings, pinned, progress)
}

/// As [`propose_around`], on ground that is known already: for many plans of one field.
pub(super) fn propose_on(
    ground: &Ground<'_>,
    year: i32,
    settings: &PlanSettings,
    pinned: &[Coord<f64>],
    progress: &dyn Progress,
) -> Result<Plan, PlanError> {
    let drawn = match settings.method {
        Method::EvenCover => {
            let pinned = ground.pinned(pinned);
            let chosen = even_cover(ground, settings, &pinned, progress)?;
            let mut plan = ground.plan(PlanId::new(), year, settings, &chosen.stops, None)?;
            plan.notes = notes::of_cover(ground, settings, &plan, &chosen);
            return Ok(plan);
        }
        Method::RandomDraw => random_draw(ground, settings)?,
        practised => (practice::practice(ground, practised, settings), None),
    };
    let (stops, chances) = drawn;
    if stops.is_empty() {
        let why = match settings.method {
            Method::AtGate => "no gate is known".to_owned(),
            Method::OneTramline => "no tramlines are known".to_owned(),
            _ => "nothing of it is open".to_owned(),
        };
        return Err(PlanError::NoRoom { field: ground.field.name.clone(), why });
    }
    let mut plan = ground.plan(PlanId::new(), year, settings, &stops, chances.as_deref())?;
    plan.notes = notes::of_draw(ground, settings, &plan);
    if !pinned.is_empty() {
        plan.notes.push("Pinned stops were not kept: only even cover builds round them.".to_owned());
    }
    Ok(plan)
}

/// A spatially balanced draw among the candidates, and the chance that each drawn place had. Nothing is moved afterwards.
fn random_draw(ground: &Ground<'_>, settings: &PlanSettings) -> Result<(Vec<Spot>, Option<Vec<f64>>), PlanError> {
    let places = ground.places(Among::OffHeadlandAndGate);
    if places.is_empty() {
        return Err(ground.no_room());
    }
    let sizes = represented(ground, places, |cell| cell.population.powf(settings.exponent / 2.0));
    let chances = inclusion_probabilities(&sizes, settings.stops);
    let mut random = ChaCha8Rng::seed_from_u64(settings.seed);
    let drawn = local_pivotal(&places_of(places), &chances, &mut random);
    Ok((drawn.iter().map(|index| places[*index]).collect(), Some(drawn.iter().map(|index| chances[*index]).collect())))
}

/// The plan with its stops at other places: positions in degrees, each with whether it is pinned, each taken to the nearest
/// tramline; shares, walk and figures follow. Same identifier. What the hand breaks of the settings stands in the notes.
pub fn with_stops(records: &Records, plan: &Plan, positions: &[(Coord<f64>, bool)]) -> Result<Plan, PlanError> {
    if positions.is_empty() {
        return Err(PlanError::Settings("a plan needs at least one stop".to_owned()));
    }
    let ground = Ground::of(records, plan.field, plan.year, &plan.settings)?;
    // Stops of a walked W lie where they were put, off the tramlines.
    let free = plan.settings.method == Method::WalkedW;
    let place = |position: Coord<f64>| {
        let at = ground.site.plane.metres(position);
        if free { crate::walk::Position { at, tramline: None } } else { ground.network.snap(at) }
    };
    let stops: Vec<Spot> =
        positions.iter().map(|(at, pinned)| Spot { pinned: *pinned, ..ground.spot(place(*at)) }).collect();
    let mut moved = ground.plan(plan.id, plan.year, &plan.settings, &stops, None)?;
    moved.set_aside = plan.set_aside;
    moved.notes = notes::of_hand(&ground, &plan.settings, &moved);
    Ok(moved)
}

/// Plans with as many stops made in every other way, to set beside a plan; ways that cannot be done in the field are left out.
pub fn compare(records: &Records, plan: &Plan, progress: &dyn Progress) -> Result<Vec<Plan>, PlanError> {
    let settings = PlanSettings { stops: plan.stops.len(), ..plan.settings.clone() };
    let ground = Ground::of(records, plan.field, plan.year, &settings)?;
    let others: Vec<Method> = Method::ALL.iter().copied().filter(|method| *method != plan.method).collect();
    let mut plans = Vec::new();
    for (number, method) in others.iter().enumerate() {
        progress.check(number, others.len())?;
        match propose_on(&ground, plan.year, &PlanSettings { method: *method, ..settings.clone() }, &[], progress) {
            Ok(other) => plans.push(other),
            Err(PlanError::Cancelled(cancelled)) => return Err(cancelled.into()),
            Err(_) => {}
        }
    }
    Ok(plans)
}

/// The tramlines of a field as lines in degrees, clipped to it, with their numbers; the headland loops have none.
pub fn tramline_lines(records: &Records, field: FieldId) -> Vec<(Option<i32>, LineString<f64>)> {
    if records.tramlines_of(field).next().is_none() {
        return Vec::new();
    }
    let Some(site) = records.fields.get(&field).and_then(|field| Site::of(records, field)) else { return Vec::new() };
    let network = Network::of(&site);
    let degrees = |line: geo::Line<f64>| site.plane.to_degrees(&LineString::from(line));
    let tramlines = network.tramlines.iter().map(|piece| (Some(piece.line), degrees(piece.along)));
    tramlines.chain(network.loops.iter().map(|edge| (None, degrees(*edge)))).collect()
}

/// Settings that cannot be.
pub(super) fn check(settings: &PlanSettings) -> Result<(), PlanError> {
    let wrong = |text: &str| Err(PlanError::Settings(text.to_owned()));
    let positive = |value: f64| value > 0.0 && value.is_finite();
    if settings.stops == 0 || settings.stops > 200 {
        return wrong("the number of stops must be from 1 to 200");
    }
    if settings.starts == 0 || settings.starts > 1000 {
        return wrong("the number of starts must be from 1 to 1000");
    }
    if !(1..=2).contains(&settings.people) {
        return wrong("one or two people share a walk");
    }
    if !(positive(settings.candidate_step_m) && positive(settings.cell_m) && positive(settings.walking_km_per_h)) {
        return wrong("step, cell and walking speed must be above 0");
    }
    if !(0.0..=10.0).contains(&settings.exponent) {
        return wrong("the exponent must be from 0 to 10");
    }
    let not_negative = [
        settings.gate_exclusion_m,
        settings.min_spacing_m,
        settings.min_extent_m,
        settings.minutes_a_stop,
        settings.patch_min_m2,
        settings.alike_m,
        settings.group_gap_m,
    ];
    if not_negative.iter().any(|value| !(*value >= 0.0 && value.is_finite())) {
        return wrong("distances, areas and minutes must not be negative");
    }
    let shares = [settings.frequency, settings.rho, settings.patch_share.unwrap_or(0.5)];
    if shares.iter().any(|share| !(0.0..=1.0).contains(share)) {
        return wrong("frequency, correlation and the patches' share of the population must be from 0 to 1");
    }
    Ok(())
}

impl Ground<'_> {
    fn plan(
        &self,
        id: PlanId,
        year: i32,
        settings: &PlanSettings,
        stops: &[Spot],
        chances: Option<&[f64]>,
    ) -> Result<Plan, PlanError> {
        let places = places_of(stops);
        let free;
        let network = if settings.method == Method::WalkedW && self.network.has_tramlines() {
            free = Network::free(&self.site);
            &free
        } else {
            &self.network
        };
        let routes =
            shortest_walks(network, &self.site.gates, &places, &self.wish(settings)).filter(|list| !list.is_empty());
        let routes = routes.ok_or_else(|| PlanError::NoRoom {
            field: self.field.name.clone(),
            why: "no way leads to every stop; check the boundary and the no-go areas".to_owned(),
        })?;
        let held = shares(&self.cells, &places);
        let groups: Vec<Option<usize>> = stops.iter().map(|stop| self.group_of(stop)).collect();
        let units = advice::units(&groups, settings);
        let plane = &self.site.plane;
        let mut ordered: Vec<Stop> = Vec::with_capacity(stops.len());
        for (person, route) in (1..).zip(&routes) {
            ordered.extend(route.order.iter().map(|index| Stop {
                position: plane.degrees(places[*index]),
                share: held[*index],
                tramline: stops[*index].tramline,
                pinned: stops[*index].pinned,
                person,
                unit: units[*index],
                inclusion: chances.and_then(|chances| chances.get(*index).copied()),
            }));
        }
        let gate = routes.first().and_then(|route| route.gate).map(|gate| plane.degrees(gate));
        let at_gate = practice::at_gate(self, settings);
        let mut walks = routes.iter().map(|route| self.walk(route, settings));
        let walk = walks.next().unwrap_or(Walk { line: LineString(Vec::new()), length_m: 0.0, minutes: 0.0, exact: true });
        let second_walk = walks.next();
        Ok(Plan {
            id,
            field: self.field.id,
            year,
            method: settings.method,
            settings: settings.clone(),
            stops: ordered,
            gate,
            walk,
            second_walk,
            advice: advice::advice(&self.patches.list, settings),
            patches: self.patches.list.clone(),
            patches_hold: self.patches_hold(),
            figures: figures::of_spots(self, stops, settings),
            gate_figures: (!at_gate.is_empty()).then(|| figures::of_spots(self, &at_gate, settings)),
            estimate: chances.and_then(|chances| self.estimate(stops, chances)),
            set_aside: false,
            notes: Vec::new(),
        })
    }

    /// What the mean density comes to when it is read at the stops of a draw alone.
    fn estimate(&self, stops: &[Spot], chances: &[f64]) -> Option<MeanEstimate> {
        let places = self.places(Among::OffHeadlandAndGate);
        let cell_m2 = self.surface.grid.cell_m * self.surface.grid.cell_m;
        let areas = represented(self, places, |_| cell_m2);
        let all = places_of(places);
        let total = |stop: &Spot| {
            let area = areas[nearest_of(&all, stop.at).0];
            self.surface.grid.value_at(stop.at).map(|density| density * area)
        };
        let totals: Option<Vec<f64>> = stops.iter().map(total).collect();
        horvitz_thompson(&places_of(stops), &totals?, chances, areas.iter().sum())
    }

    /// The group of patches that a stop lies in or nearest to.
    fn group_of(&self, stop: &Spot) -> Option<usize> {
        let list = &self.patches.list;
        if let Some(patch) = stop.patch.and_then(|patch| list.get(patch)) {
            return Some(patch.group);
        }
        let away =
            |patch: &crate::model::Patch| match self.site.plane.to_metres(&patch.outline).closest_point(&Point(stop.at)) {
                Closest::SinglePoint(on) | Closest::Intersection(on) => Euclidean.distance(on.0, stop.at),
                Closest::Indeterminate => f64::INFINITY,
            };
        list.iter().min_by(|a, b| away(a).total_cmp(&away(b))).map(|patch| patch.group)
    }

    fn wish(&self, settings: &PlanSettings) -> WalkWish {
        let index = |gate: Option<GateId>| gate.and_then(|gate| self.site.gate_ids.iter().position(|id| *id == gate));
        WalkWish {
            people: settings.people,
            start: index(settings.start_gate),
            end: index(settings.end_gate),
            stop_cost_m: settings.minutes_a_stop * metres_a_minute(settings),
        }
    }

    fn walk(&self, route: &Route, settings: &PlanSettings) -> Walk {
        Walk {
            line: self.site.plane.to_degrees(&route.line),
            length_m: route.length_m,
            minutes: route.length_m / metres_a_minute(settings) + route.order.len() as f64 * settings.minutes_a_stop,
            exact: route.exact,
        }
    }
}

fn metres_a_minute(settings: &PlanSettings) -> f64 {
    settings.walking_km_per_h * 1000.0 / 60.0
}
