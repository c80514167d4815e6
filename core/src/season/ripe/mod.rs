//! When seed is ripe: the season window of each weed, and once people have looked, the days on which 10 to 20 % will have shed.
//!
//! "When most seed is mature and 10 to 20 % has shed" is from the advice leaflet of the British working group on weed resistance,
//! June 2020. How the checks of a year become days: `fit.rs`. A field in which nobody has looked takes its days from the year's
//! other fields; before any check of the year the window alone counts, shifted as the user says.

mod fit;
mod species;

use std::collections::BTreeMap;

use jiff::civil::Date;
use jiff::{Span, Unit};

use crate::model::{Crop, Field, FieldId, Records, RipeCheck, same_name};
use crate::problem::Problems;
use crate::season::calendar::Days;
use crate::units::count;

pub use fit::{Fit, Look, NINE_IN_TEN, Prior, fit};
pub use species::{SeedWindow, Sown, seed_window, seed_windows};

/// Shares shed between which seed is taken.
pub const RIPE: [f64; 2] = [0.10, 0.20];
/// Standard deviation of the year's middle about the window, days (our choice, no source).
const YEARS_DAYS: f64 = 7.0;
/// Standard deviation of the logarithm of the slope (our choice, no source).
const SLOPE_LOG: f64 = 0.3;
/// Standard deviation of fields within a year, days, and that of its logarithm (our choice, no source).
const BETWEEN: (f64, f64) = (3.0, 0.5);
/// A share shed is guessed to 5 points at 15 %: 0.05² / (0.15 x 0.85); worth five checks (our choice, no source).
const DISPERSION: (f64, f64) = (0.02, 5.0);
/// A check further from the window than this is taken for a wrong date, days.
const FAR_DAYS: i32 = 60;

/// What the ripe days of a field rest on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Basis {
    /// The season window alone.
    Window,
    /// Checks in other fields of this year.
    OtherFields,
    /// Checks in this field, and in others of this year.
    Checks,
}

/// When seed of a field is ripe.
#[derive(Debug, Clone, PartialEq)]
pub struct RipeDays {
    /// EPPO code of the weed.
    pub species: String,
    /// The season window of the weed, shifted as the user says.
    pub window: Days,
    /// From 10 % to 20 % shed, as far as is known; the window, if nobody has looked this year.
    pub days: Days,
    /// 90 % interval of the day with 10 % shed; none for the window.
    pub first: Option<Days>,
    /// 90 % interval of the day with 20 % shed.
    pub last: Option<Days>,
    /// What it rests on.
    pub basis: Basis,
    /// Checks in this field this year.
    pub checks: usize,
}

impl RipeDays {
    fn of_window(species: String, window: Days) -> Self {
        Self { species, window, days: window, first: None, last: None, basis: Basis::Window, checks: 0 }
    }

    /// "about 14 to 18 July".
    pub fn words(&self) -> String {
        format!("about {}", self.days.words())
    }

    /// What the days rest on, a few words to stand behind them: "by 2 checks in this field".
    pub fn rests_on(&self) -> String {
        match self.basis {
            Basis::Window => "by the season window alone".to_owned(),
            Basis::OtherFields => "by this year's checks in other fields".to_owned(),
            Basis::Checks => format!("by {} in this field", count(self.checks, "check")),
        }
    }
}

/// A fitted weed and year.
#[derive(Debug, Clone, PartialEq)]
pub struct YearFit {
    /// EPPO code of the weed.
    pub species: String,
    /// The fit.
    pub fit: Fit,
    /// Checks it is made from.
    pub checks: usize,
    /// Fields they are in.
    pub fields: usize,
}

/// What is known of ripeness in a harvest year.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Ripeness {
    /// Weeds with checks.
    pub fits: Vec<YearFit>,
    /// Every field of the year.
    pub fields: BTreeMap<FieldId, RipeDays>,
}

impl Ripeness {
    /// When seed of a weed is ripe in a field: its days if it is the weed that was looked for there, else its season window alone.
    /// None for a weed without a window.
    pub fn of_weed(&self, records: &Records, field: FieldId, year: i32, species: &str) -> Option<RipeDays> {
        if let Some(days) = self.fields.get(&field).filter(|days| same_name(&days.species, species)) {
            return Some(days.clone());
        }
        let window = seed_window(species, sown(records, field, year))?.days(year, records.settings.season.shift(year))?;
        Some(RipeDays::of_window(species.to_uppercase(), window))
    }
}

/// Whether a crop was drilled in spring: it is called so, or its drilling says so.
fn in_spring(crop: &Crop) -> bool {
    let drilled = crop.drilled.is_some_and(|day| i32::from(day.year()) == crop.year && day.month() >= 2);
    crop.crop.to_lowercase().contains("spring") || drilled
}

/// Whether the field's crop of the year was drilled in spring.
pub fn sown(records: &Records, field: FieldId, year: i32) -> Sown {
    let mut crops = records.crops.values().filter(|crop| crop.field == field && crop.year == year);
    if crops.any(|crop| in_spring(crop)) { Sown::Spring } else { Sown::Autumn }
}

/// Fields that were looked at: number in the fit, and how often.
type Looked = BTreeMap<FieldId, (usize, usize)>;

/// When seed is ripe in every field of a harvest year.
pub fn ripeness(records: &Records, year: i32) -> Ripeness {
    let checks = records.ripe_checks_in(year);
    let shift = records.settings.season.shift(year);
    let fields = records.fields_in(year);
    let mut sown: BTreeMap<FieldId, Sown> = fields.iter().map(|field| (field.id, Sown::Autumn)).collect();
    for crop in records.crops.values().filter(|crop| crop.year == year && in_spring(crop)) {
        sown.insert(crop.field, Sown::Spring);
    }
    let mut out = Ripeness::default();
    let mut of_weed: BTreeMap<String, (Fit, Looked)> = BTreeMap::new();
    let mut codes: Vec<String> = checks.iter().map(|check| check.species.to_uppercase()).collect();
    codes.sort();
    codes.dedup();
    for code in codes {
        let Some(row) = seed_window(&code, Sown::Autumn) else { continue };
        let mut numbers = Looked::new();
        let mut looks = Vec::new();
        for check in checks.iter().filter(|check| same_name(&check.species, &code)) {
            let Some(own) = sown.get(&check.field) else { continue };
            let Some(middle) = seed_window(&code, *own).and_then(|row| row.days(year, shift)).map(|days| days.middle())
            else {
                continue;
            };
            let next = numbers.len();
            let held = numbers.entry(check.field).or_insert((next, 0));
            held.1 += 1;
            let day = days_between(middle.0, check.date) - middle.1;
            looks.push(Look { field: held.0, day, shed: (check.shed_percent / 100.0).clamp(0.0, 1.0) });
        }
        if looks.is_empty() {
            continue;
        }
        let fitted = fit(&looks, numbers.len(), &prior(row));
        let (checks, fields) = (looks.len(), numbers.len());
        out.fits.push(YearFit { species: code.clone(), fit: fitted.clone(), checks, fields });
        of_weed.insert(code, (fitted, numbers));
    }
    for field in &fields {
        // The weed that was looked for here, or else the main one.
        let looked = checks.iter().rev().find(|check| check.field == field.id).map(|check| check.species.to_uppercase());
        let code = looked.unwrap_or_else(|| records.settings.season.main_species().to_uppercase());
        let own = sown.get(&field.id).copied().unwrap_or(Sown::Autumn);
        let Some(window) = seed_window(&code, own).and_then(|row| row.days(year, shift)) else { continue };
        let mut days = RipeDays::of_window(code.clone(), window);
        if let Some((fitted, numbers)) = of_weed.get(&code) {
            let number = numbers.get(&field.id);
            days.checks = number.map_or(0, |(_, checks)| *checks);
            days.basis = if number.is_some() { Basis::Checks } else { Basis::OtherFields };
            place(&mut days, fitted, number.map(|(number, _)| *number));
        }
        out.fields.insert(field.id, days);
    }
    out
}

/// What the season window alone says: half has shed where a curve of its spread, 14 % shed in its middle, comes to a half.
pub fn prior(row: &SeedWindow) -> Prior {
    let logit = |share: f64| (share / (1.0 - share)).ln();
    let slope = 2.0 * logit(0.85) / row.spread;
    let ripe = f64::midpoint(logit(RIPE[0]), logit(RIPE[1]));
    Prior { slope: (slope, SLOPE_LOG), middle: (-ripe / slope, YEARS_DAYS), between: BETWEEN, dispersion: DISPERSION }
}

/// Days from one date to another.
fn days_between(from: Date, to: Date) -> f64 {
    from.until((Unit::Day, to)).map_or(0.0, |span| f64::from(span.get_days()))
}

fn place(days: &mut RipeDays, fitted: &Fit, number: Option<usize>) {
    let (middle, half) = days.window.middle();
    let date = |offset: f64| {
        let offset = (offset + half).round().clamp(-3000.0, 3000.0) as i64;
        middle.checked_add(Span::new().days(offset)).unwrap_or(middle)
    };
    let [(first, first_error), (last, last_error)] = RIPE.map(|share| fitted.day(share, number));
    days.days = Days { from: date(first), to: date(last).max(date(first)) };
    days.first = Some(Days { from: date(first - NINE_IN_TEN * first_error), to: date(first + NINE_IN_TEN * first_error) });
    days.last = Some(Days { from: date(last - NINE_IN_TEN * last_error), to: date(last + NINE_IN_TEN * last_error) });
}

/// What is wrong with a check; errors forbid keeping it.
pub fn look_over(records: &Records, check: &RipeCheck, year: i32, problems: &mut Problems) {
    let field: Option<&Field> = records.fields.get(&check.field).map(|field| &**field);
    let place = format!(
        "check of {} in {}",
        check.date.strftime("%-d %B %Y"),
        field.map_or("a field that is missing", |field| field.name.as_str())
    );
    if !(0.0..=100.0).contains(&check.shed_percent) {
        let what = format!("{} % of the seed cannot have shed.", check.shed_percent);
        problems.error(&place, what, "Give a share from 0 to 100 % of all seed on the heads.");
    }
    let Some(row) = seed_window(&check.species, Sown::Autumn) else {
        let known: Vec<&str> = seed_windows().iter().map(|row| row.species.as_str()).collect();
        let mut known = known;
        known.dedup();
        let what = format!("“{}” is no weed with a season window.", check.species);
        problems.error(&place, what, format!("Use one of {}.", known.join(", ")));
        return;
    };
    if i32::from(check.date.year()) != year {
        problems.error(&place, format!("It is not of harvest {year}."), "Correct the date, or choose its harvest year.");
        return;
    }
    let Some(field) = field else {
        problems.error(&place, "Its field is missing.", "Choose a field of this harvest.");
        return;
    };
    if !field.exists_in(year) {
        let what = format!("{} has no boundary in harvest {year}.", field.name);
        problems.error(&place, what, "Choose the field that lies there in this harvest.");
    }
    let window = seed_window(&check.species, sown(records, field.id, year)).unwrap_or(row);
    if let Some(days) = window.days(year, records.settings.season.shift(year)) {
        let away = -days_between(days.from, check.date).min(days_between(check.date, days.to)).min(0.0) as i32;
        if away > FAR_DAYS {
            let what =
                format!("It lies {} outside the season of {} ({}).", count(away as usize, "day"), row.name, days.words());
            problems.error(&place, what, "Correct the date; day and month may be the wrong way round.");
        }
    }
    let others = records.ripe_checks_in(year);
    let same = others
        .iter()
        .filter(|other| other.field == check.field && same_name(&other.species, &check.species) && other.id != check.id);
    for other in same {
        let falls = (other.date < check.date && other.shed_percent > check.shed_percent)
            || (other.date > check.date && other.shed_percent < check.shed_percent);
        if falls {
            let what = format!(
                "It says {} %, that of {} {} %: shed seed does not go back.",
                check.shed_percent,
                other.date.strftime("%-d %B"),
                other.shed_percent
            );
            problems.warning(&place, what, "Both are kept; correct one if it was a slip.");
        }
    }
}
