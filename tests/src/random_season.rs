//! Random seasons for tests of rounds: fields in farms about a base, ripe dates, walks, ratings; the bare task of the search.

use awn_core::season::{Call, Schedule, Task};
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use serde_json::{Value, json};

/// The season of a number: the same each time. Every third asks for the cleanest fields first, every fifth is so short that not
/// everything fits.
pub fn season(number: u64, fields: usize) -> Task {
    let mut random = ChaCha8Rng::seed_from_u64(7_000 + number);
    let farms: Vec<(f64, f64)> = (0..random.random_range(3..7_usize))
        .map(|_| (random.random_range(-25.0..25.0), random.random_range(-25.0..25.0)))
        .collect();
    let days = random.random_range(8..12_usize);
    let cars = random.random_range(1..3_usize);
    let mut places = vec![(0.0_f64, 0.0_f64)];
    let mut calls = Vec::new();
    for _ in 0..fields {
        let farm = farms[random.random_range(0..farms.len())];
        places.push((farm.0 + random.random_range(-2.5..2.5), farm.1 + random.random_range(-2.5..2.5)));
        let length = random.random_range(3..=days);
        let first = random.random_range(0..=days - length);
        let open = (0..days).map(|day| (first..first + length).contains(&day).then_some(0.0)).collect();
        calls.push(Call {
            minutes: random.random_range(30.0..80.0),
            days: open,
            class: random.random_range(0..5),
            worth: 1.0,
        });
    }
    // km at 40 km/h, 1.4 times the straight line.
    let minutes = |a: &(f64, f64), b: &(f64, f64)| 1.4 * (a.0 - b.0).hypot(a.1 - b.1) / 40.0 * 60.0;
    let drive = places.iter().map(|a| places.iter().map(|b| minutes(a, b)).collect()).collect();
    let limit = if number % 5 == 4 { 210.0 } else { 480.0 };
    Task { calls, drive, days, cars, limit, by_class: number % 3 == 2 }
}

/// A task for the peer, with so many seconds to think; `check`: our rounds, to be looked over there.
pub fn for_peer(task: &Task, seconds: f64, check: Option<&Schedule>) -> Value {
    let calls: Vec<Value> = task
        .calls
        .iter()
        .map(|call| {
            let days: Vec<u8> = call.days.iter().map(|day| u8::from(day.is_some())).collect();
            json!({ "minutes": call.minutes, "days": days, "class": call.class, "worth": call.worth })
        })
        .collect();
    let mut value = json!({
        "drive": task.drive, "calls": calls, "days": task.days, "cars": task.cars, "limit": task.limit,
        "by_class": task.by_class, "seconds": seconds,
    });
    if let Some(schedule) = check {
        value["check"] = json!(schedule.rounds);
    }
    value
}
