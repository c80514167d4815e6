//! Ripe days from checks, beside statsmodels and scipy.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // stopping with a sentence is the answer here

use awn_core::model::{Farm, FarmId, Field, FieldId, Record, Records, RipeCheck, RipeCheckId};
use awn_core::problem::Problems;
use awn_core::season::{Basis, Look, NINE_IN_TEN, Prior, fit, look_over, prior, ripeness, seed_window};
use awn_tests::reference;
use geo::MultiPolygon;
use jiff::civil::{Date, date};
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use serde_json::{Value, json};

/// A normal deviate (Box and Muller 1958).
fn normal(random: &mut ChaCha8Rng) -> f64 {
    let radius = (-2.0 * (1.0 - random.random_range(0.0..1.0_f64)).ln()).sqrt();
    radius * (std::f64::consts::TAU * random.random_range(0.0..1.0_f64)).cos()
}

/// Checks of a made-up year: fields shifted by a normal deviate, shares read to 5 points at 15 %.
fn year(random: &mut ChaCha8Rng, fields: usize, looks: usize, between: f64) -> (Vec<Look>, Vec<f64>) {
    let shift = 7.0 * normal(random);
    let middles: Vec<f64> = (0..fields).map(|_| 16.0 + shift + between * normal(random)).collect();
    let slope = 0.112 * (0.3 * normal(random)).exp();
    let mut list = Vec::new();
    for (field, middle) in middles.iter().enumerate() {
        for look in 0..looks {
            let day = -10.0 + 6.0 * look as f64 + 2.0 * normal(random);
            let share = 1.0 / (1.0 + (-slope * (day - middle)).exp());
            // Fifty seeds looked at: a variance of 0.02 p (1 - p).
            let shed = (0..50).filter(|_| random.random_range(0.0..1.0) < share).count();
            let read = shed as f64 / 50.0;
            // People say 0 % and 5 %, not 3.7 %.
            list.push(Look { field, day, shed: ((20.0 * read).round() / 20.0).clamp(0.0, 1.0) });
        }
    }
    (list, middles.iter().map(|middle| middle + (0.1_f64 / 0.9).ln() / slope).collect())
}

fn listed(looks: &[Look]) -> Value {
    looks.iter().map(|look| json!([look.field, look.day, look.shed])).collect()
}

#[test]
fn without_priors_it_is_the_logistic_regression_of_statsmodels() {
    let mut random = ChaCha8Rng::seed_from_u64(1);
    let (looks, _) = year(&mut random, 4, 5, 4.0);
    let none = f64::INFINITY;
    // Fields free of each other: a between so large that nothing is drawn anywhere.
    let ours =
        fit(&looks, 4, &Prior { slope: (0.112, none), middle: (16.0, 1e3), between: (1e4, 0.0), dispersion: (0.02, none) });
    let theirs = reference::run(
        "ripeness",
        &json!({ "looks": listed(&looks), "fields": 4, "wanted": ["glm"],
            "prior": { "slope": [0.112, null], "middle": [16.0, null], "between": 1e4, "dispersion": 0.02 } }),
    );
    let theirs = &theirs["glm"];
    let slope = theirs["slope"].as_f64().unwrap();
    assert!((ours.slope / slope - 1.0).abs() < 1e-4, "{} {slope}", ours.slope);
    for field in 0..4 {
        let (day, error) = ours.day(0.1, Some(field));
        let (their_day, their_error) = (theirs["days"][field].as_f64().unwrap(), theirs["errors"][field].as_f64().unwrap());
        assert!((day - their_day).abs() < 0.01, "field {field}: {day} {their_day}");
        assert!((error / their_error - 1.0).abs() < 0.01, "field {field}: {error} {their_error}");
    }
}

#[test]
fn with_priors_it_is_what_scipy_finds() {
    let mut worst = [0.0_f64; 3];
    for (seed, fields, looks) in [(2, 5, 1), (3, 8, 2), (4, 3, 4), (5, 12, 1)] {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let (list, _) = year(&mut random, fields, looks, 3.0);
        let fixed =
            Prior { slope: (0.112, 0.3), middle: (16.0, 7.0), between: (3.0, 0.0), dispersion: (0.02, f64::INFINITY) };
        let ours = fit(&list, fields, &fixed);
        let free = fit(&list, fields, &Prior { between: (3.0, 0.5), ..fixed });
        let theirs = reference::run(
            "ripeness",
            &json!({ "looks": listed(&list), "fields": fields, "wanted": ["penalised", "between"],
                "prior": { "slope": [0.112, 0.3], "middle": [16.0, 7.0], "between": 3.0, "between_prior": [3.0, 0.5],
                    "dispersion": 0.02 } }),
        );
        let found = &theirs["penalised"];
        assert!((ours.middle - found["middle"].as_f64().unwrap()).abs() < 0.02);
        for field in 0..fields {
            let (day, error) = ours.day(0.1, Some(field));
            let (their_day, their_error) =
                (found["days"][field].as_f64().unwrap(), found["errors"][field].as_f64().unwrap());
            worst[0] = worst[0].max((day - their_day).abs());
            worst[1] = worst[1].max((error / their_error - 1.0).abs());
        }
        let unseen = found["unseen_error"].as_f64().unwrap();
        assert!((ours.day(0.1, None).1 / unseen - 1.0).abs() < 0.01, "{} {unseen}", ours.day(0.1, None).1);
        let between = theirs["between"].as_f64().unwrap();
        worst[2] = worst[2].max((free.between / between - 1.0).abs());
    }
    println!(
        "largest difference from scipy: {:.4} days, {:.4} of an error, {:.3} of the spread between fields",
        worst[0], worst[1], worst[2]
    );
    assert!(worst[0] < 0.02 && worst[1] < 0.01, "{worst:?}");
    // Laplace's method against numerical integration: a spread that is known to a factor of two from so few checks anyway.
    assert!(worst[2] < 0.15, "{worst:?}");
}

#[test]
fn nine_intervals_in_ten_hold_the_day() {
    // Years drawn as the priors believe them: the intervals then hold the truth as often as they say, or nearly.
    let prior = prior(seed_window("ALOMY", awn_core::season::Sown::Autumn).unwrap());
    let (mut held, mut all, mut off) = (0_u32, 0_u32, 0.0);
    for seed in 0..150 {
        let mut random = ChaCha8Rng::seed_from_u64(100 + seed);
        let (looks, truth) = year(&mut random, 10, 1 + (seed % 3) as usize, 3.0);
        // The last two fields were not looked at.
        let seen: Vec<Look> = looks.into_iter().filter(|look| look.field < 8).collect();
        let fitted = fit(&seen, 8, &prior);
        for (field, truth) in truth.iter().enumerate() {
            let (day, error) = fitted.day(0.1, (field < 8).then_some(field));
            held += u32::from((day - truth).abs() < NINE_IN_TEN * error);
            off += (day - truth).abs();
            all += 1;
        }
    }
    let share = f64::from(held) / f64::from(all);
    println!("{share:.3} of {all} intervals of 90 % hold the day; mean error {:.2} days", off / f64::from(all));
    assert!((0.87..=0.95).contains(&share), "{share}");
}

struct Farmland {
    records: Records,
    fields: Vec<FieldId>,
}

fn farmland(count: usize) -> Farmland {
    let mut records = Records::default();
    let farm = Farm { id: FarmId::new(), business: String::new(), name: "Sallowby".into() };
    let mut fields = Vec::new();
    for number in 0..count {
        let field = Field::new(farm.id, format!("Field {number}"), MultiPolygon(vec![]));
        fields.push(field.id);
        records.put(Record::Field(field));
    }
    records.put(Record::Farm(farm));
    Farmland { records, fields }
}

fn check(field: FieldId, date: Date, shed_percent: f64) -> RipeCheck {
    RipeCheck { id: RipeCheckId::new(), field, date, species: "ALOMY".into(), shed_percent, who: String::new() }
}

#[test]
fn before_any_check_the_window_alone_and_it_moves_with_the_year() {
    let mut land = farmland(2);
    let before = ripeness(&land.records, 2027);
    let days = &before.fields[&land.fields[0]];
    assert_eq!((days.words().as_str(), days.basis, days.first), ("about 8 to 21 July", Basis::Window, None));
    land.records.settings.season.shift_days.insert(2027, 5);
    assert_eq!(ripeness(&land.records, 2027).fields[&land.fields[0]].words(), "about 13 to 26 July");
    assert_eq!(ripeness(&land.records, 2026).fields[&land.fields[0]].words(), "about 8 to 21 July");
}

#[test]
fn a_check_speaks_for_its_field_and_less_for_the_others() {
    let mut land = farmland(3);
    // 30 % on 6 July: a good deal early.
    land.records.put(Record::RipeCheck(check(land.fields[0], date(2027, 7, 6), 30.0)));
    let found = ripeness(&land.records, 2027);
    let (own, other) = (&found.fields[&land.fields[0]], &found.fields[&land.fields[1]]);
    assert_eq!((own.basis, other.basis), (Basis::Checks, Basis::OtherFields));
    let usual = date(2027, 7, 11);
    assert!(own.days.from < other.days.from && other.days.from < usual, "{own:?} {other:?}");
    let width = |days: awn_core::season::Days| days.length();
    assert!(width(own.first.unwrap()) < width(other.first.unwrap()));
    // A second check in the same field narrows it further.
    land.records.put(Record::RipeCheck(check(land.fields[0], date(2027, 7, 10), 40.0)));
    let again = ripeness(&land.records, 2027);
    assert!(width(again.fields[&land.fields[0]].first.unwrap()) <= width(own.first.unwrap()));
}

#[test]
fn what_cannot_be_is_said_with_the_remedy() {
    let land = farmland(1);
    let field = land.fields[0];
    for (bad, what, hint) in [
        (check(field, date(2027, 7, 9), 120.0), "120 %", "0 to 100"),
        (check(field, date(2027, 7, 9), f64::NAN), "cannot have shed", "0 to 100"),
        (check(field, date(2027, 1, 12), 10.0), "outside the season", "wrong way round"),
        (check(field, date(2026, 7, 9), 10.0), "not of harvest 2027", "date"),
        (RipeCheck { species: "TRZAX".into(), ..check(field, date(2027, 7, 9), 10.0) }, "no weed", "ALOMY"),
        (check(FieldId::new(), date(2027, 7, 9), 10.0), "field is missing", "Choose"),
    ] {
        let mut problems = Problems::new();
        look_over(&land.records, &bad, 2027, &mut problems);
        let said = problems.errors().next().unwrap_or_else(|| panic!("{bad:?} passed"));
        assert!(said.what.contains(what) && said.hint.contains(hint), "{said:?}");
    }
    let mut records = land.records.clone();
    records.put(Record::RipeCheck(check(field, date(2027, 7, 9), 20.0)));
    let mut problems = Problems::new();
    look_over(&records, &check(field, date(2027, 7, 12), 10.0), 2027, &mut problems);
    assert!(!problems.has_errors() && !problems.is_clean(), "less shed than before is a warning");
}
