//! `awn rounds`: fields to days, the order of each day, a calendar and GPX files.

use anyhow::{Context as _, bail};
use awn_core::exchange;
use awn_core::model::{Records, RoundSettings, Rounds};
use awn_core::problem::Problems;
use awn_core::progress::Quiet;
use awn_core::season::{self, RoundsError};
use awn_core::units::count;
use jiff::SignedDuration;
use serde_json::{Value, json};

use super::answer::{Answer, table};
use super::args::RoundsWanted;
use crate::commands;
use crate::commands::write;

/// Works rounds out and keeps them, or shows those that are kept; writes what was asked for.
pub fn run(wanted: &RoundsWanted, problems: &mut Problems) -> anyhow::Result<Answer> {
    let mut project = super::open(&wanted.project)?;
    let year = wanted.year;
    if let (Some(from), Some(to), Some(base)) = (wanted.from, wanted.to, wanted.base) {
        let settings = RoundSettings {
            from,
            to,
            weekends: wanted.weekends,
            start: wanted.start,
            hours: wanted.hours,
            people: wanted.people,
            together: wanted.together,
            base,
            detour: wanted.detour,
            km_per_h: wanted.speed,
            minutes_a_field: wanted.minutes_a_field,
            spare_days: wanted.spare_days,
            cleanest_first: wanted.cleanest_first,
        };
        let records = project.records().clone();
        match season::rounds(&records, year, &settings, &Quiet) {
            Ok(found) => project.apply(commands::keep_rounds(&records, &found))?,
            Err(RoundsError::Wrong { what, hint }) => {
                problems.error("rounds", what, hint);
                bail!("no rounds were worked out");
            }
            Err(error) => return Err(error.into()),
        }
    }
    let records = project.records();
    let Some(rounds) = records.rounds_of(year) else {
        bail!("there are no rounds of harvest {year}; give --from, --to and --base to work them out");
    };
    let mut written = Vec::new();
    let failed = |error: String| anyhow::anyhow!(error);
    if let Some(file) = &wanted.ics {
        write(file, &exchange::rounds_calendar(records, rounds).map_err(failed)?)?;
        written.push(file.clone());
    }
    if let Some(folder) = &wanted.gpx {
        std::fs::create_dir_all(folder).with_context(|| format!("{} cannot be made", folder.display()))?;
        for day in exchange::rounds_gpx(records, rounds).map_err(failed)? {
            let file = folder.join(&day.name);
            write(&file, &day.bytes)?;
            written.push(file);
        }
    }
    let mut answer = answer(records, rounds);
    for file in &written {
        answer.text.push_str(&format!("Wrote {}\n", file.display()));
    }
    answer.json["files"] = json!(written);
    Ok(answer)
}

fn clock(rounds: &Rounds, minutes: f64) -> String {
    let from_midnight = rounds.settings.start.duration_since(jiff::civil::Time::midnight());
    let at = from_midnight + SignedDuration::from_mins(minutes.round() as i64);
    format!("{:02}:{:02}", at.as_hours() % 24, at.as_mins() % 60)
}

/// The rounds as an answer.
pub fn answer(records: &Records, rounds: &Rounds) -> Answer {
    let name = |id| records.fields.get(id).map_or("?", |field| field.name.as_str());
    let farm = |id| records.fields.get(id).map_or("", |field| records.farm_name(field));
    let settings = &rounds.settings;
    let (mut rows, mut days) = (Vec::new(), Vec::new());
    let (mut all_km, mut all_minutes) = (0.0, 0.0);
    for (date, car, visits) in rounds.days() {
        let Some(last) = visits.last() else { continue };
        let home = season::drive_km(settings, last.gate, settings.base);
        let km: f64 = visits.iter().map(|visit| visit.km).sum::<f64>() + home;
        let back = last.arrive_min + last.minutes + season::drive_minutes(settings, home);
        all_km += km;
        all_minutes += back;
        let order: Vec<&str> = visits.iter().map(|visit| name(&visit.field)).collect();
        rows.push(vec![
            date.strftime("%a %-d %B").to_string(),
            car.to_string(),
            visits.len().to_string(),
            format!("{km:.0}"),
            clock(rounds, back),
            order.join(", "),
        ]);
        let list: Vec<Value> = visits
            .iter()
            .map(|visit| {
                json!({
                    "number": visit.number, "field": name(&visit.field), "field_id": visit.field, "farm": farm(&visit.field),
                    "arrive": clock(rounds, visit.arrive_min), "leave": clock(rounds, visit.arrive_min + visit.minutes),
                    "minutes": visit.minutes, "km": visit.km, "lon": visit.gate.x, "lat": visit.gate.y,
                })
            })
            .collect();
        days.push(
            json!({ "date": date, "car": car, "km": km, "minutes": back, "back": clock(rounds, back), "visits": list }),
        );
    }
    let left: Vec<Value> = rounds
        .left_out
        .iter()
        .map(|left| json!({ "field": name(&left.field), "farm": farm(&left.field), "reason": left.reason }))
        .collect();
    let mut text = format!(
        "{} on {}; {all_km:.0} km, {:.1} hours.\n",
        count(rounds.visits.len(), "field"),
        count(days.len(), "round"),
        all_minutes / 60.0
    );
    text.push_str(&table(&["Day", "Car", "Fields", "km", "Back", "Order"], &[false, true, true, true, true, false], &rows));
    for out in &rounds.left_out {
        text.push_str(&format!("Left out: {}. {}\n", name(&out.field), out.reason));
    }
    let doubts = season::doubts(records, rounds, &season::ripeness(records, rounds.year));
    for line in season::doubts_in_words(&doubts).iter().chain(doubts.iter().map(|doubt| &doubt.what)) {
        text.push_str(&format!("{line}\n"));
    }
    let doubts: Vec<Value> = doubts.iter().map(|doubt| json!({ "field": name(&doubt.field), "what": doubt.what })).collect();
    let json = json!({
        "doubts": doubts, "year": rounds.year, "rounds": days, "left_out": left, "km": all_km, "hours": all_minutes / 60.0,
        "base": { "lon": settings.base.x, "lat": settings.base.y },
    });
    Answer::new(json, text)
}
