//! What a plan could not do and why, one sentence each.

use geo::{Coord, Distance as _, Euclidean};

use crate::density::SurfaceMethod;
use crate::model::{Method, Plan, PlanSettings};
use crate::stops::ground::Ground;
use crate::stops::search::Chosen;
use crate::units::count;

/// A share of the population out of reach that is worth a note.
const MUCH_OUT_OF_REACH: f64 = 0.3;

/// Notes on even cover.
pub(super) fn of_cover(ground: &Ground<'_>, settings: &PlanSettings, plan: &Plan, chosen: &Chosen) -> Vec<String> {
    let mut notes = of_ground(ground);
    let taken = plan.stops.len();
    if taken < settings.stops {
        notes.push(format!(
            "Only {} of {} fit at least {:.0} m apart between headland, gate and no-go areas.",
            taken, settings.stops, settings.min_spacing_m
        ));
    } else if plan.patches_hold == Some(0) {
        notes.push("No place for a stop lies inside a patch: the stops lie as near to the patches as they may.".to_owned());
    } else if let Some(held) = plan.patches_hold.filter(|held| *held < taken) {
        notes.push(format!(
            "The tramlines inside the patches hold only {} at least {:.0} m apart that stand for about as much of the population \
             each; the others stand for little, and balance is the poorer for it. Ask for {held}.",
            count(held, "stop"),
            settings.min_spacing_m
        ));
    }
    let in_patches = !chosen.span.patches.is_empty();
    let place = if in_patches { "patches" } else { "field" };
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
            if in_patches { "are" } else { "is" }
        ));
    }
    if settings.per_patch > 0 {
        let short: Vec<usize> = (0..ground.patches.list.len())
            .filter(|patch| {
                let inside = plan
                    .stops
                    .iter()
                    .filter(|stop| ground.patch_at(ground.site.plane.metres(stop.position)) == Some(*patch));
                inside.count() < settings.per_patch
            })
            .collect();
        if !short.is_empty() {
            let numbers: Vec<String> = short.iter().map(|patch| (patch + 1).to_string()).collect();
            notes.push(format!(
                "Fewer than {} in patch {}: no tramline leads into it far enough, or there are too few stops for all patches.",
                count(settings.per_patch, "stop"),
                numbers.join(", ")
            ));
        }
    }
    notes
}

/// Notes on a random draw and on common practice.
pub(super) fn of_draw(ground: &Ground<'_>, settings: &PlanSettings, plan: &Plan) -> Vec<String> {
    let mut notes = of_ground(ground);
    if settings.method == Method::RandomDraw {
        notes.push(
            "Drawn at random with known chances and left where they fell, so that an estimate from them is unbiased; two may lie \
             near each other."
                .to_owned(),
        );
    }
    if plan.stops.len() < settings.stops {
        notes.push(format!("Only {} of {} places could be found.", plan.stops.len(), settings.stops));
    }
    notes
}

fn of_ground(ground: &Ground<'_>) -> Vec<String> {
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
    if 1.0 - ground.reached > MUCH_OUT_OF_REACH {
        notes.push(format!(
            "{:.0} % of the population lies on the headland and no-go areas, where no stop is placed: the sample does not speak for \
             it. Lessen the headland if it was sprayed like the rest of the field, or take a sample of its own there.",
            100.0 * (1.0 - ground.reached)
        ));
    }
    notes
}

/// What stops put by hand break of the settings.
pub(super) fn of_hand(ground: &Ground<'_>, settings: &PlanSettings, plan: &Plan) -> Vec<String> {
    let at: Vec<Coord<f64>> = plan.stops.iter().map(|stop| ground.site.plane.metres(stop.position)).collect();
    let mut notes = Vec::new();
    for (index, stop) in at.iter().enumerate() {
        let number = index + 1;
        if ground.site.gates.iter().any(|gate| Euclidean.distance(*gate, *stop) < settings.gate_exclusion_m - 1e-6) {
            notes.push(format!("Stop {number} lies within {:.0} m of a gate.", settings.gate_exclusion_m));
        }
        for (other, place) in at.iter().enumerate().skip(index + 1) {
            if Euclidean.distance(*place, *stop) < settings.min_spacing_m - 1e-6 {
                notes.push(format!("Stops {number} and {} lie nearer than {:.0} m.", other + 1, settings.min_spacing_m));
            }
        }
    }
    notes
}
