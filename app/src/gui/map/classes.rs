//! The class of a field in a colouring: fill, letter and what lies over the fill; the same as on printed maps.

use awn_core::act;
use awn_core::model::{DensityUnit, FieldId, Mark, Rating, Stage};
use awn_core::rating::{RatingOf, Tested};
use awn_core::report::Age;
use egui::Color32;

use crate::gui::facts::{Facts, Row};
use crate::gui::style;
use crate::gui::view::Colouring;
use crate::gui::view::outlook::Expected;

/// What lies over the fill of a class.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Over {
    /// Nothing.
    Nothing,
    /// Fine dots: knowledge that gets old, or a rating that got better.
    Stipple,
    /// Diagonal lines: knowledge past the interval, or a rating that got worse.
    Hatch,
    /// Wide diagonal lines: nothing known.
    Unknown,
    /// Level lines, the closer the higher the number, 0 to 4: the class once more, for eyes that tell no colours. Only where the map is
    /// asked for it, and where no other pattern says something else.
    Rows(u8),
}

impl Over {
    /// Distance between level lines, points; the numbers lie at least a quarter apart, so that they are told apart by their grey.
    pub fn row_spacing(number: u8) -> f32 {
        [18.0, 11.0, 7.5, 5.5, 4.0][usize::from(number.min(4))]
    }
}

/// Which way a rating went since the test before.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// More resistant than before.
    Worse,
    /// As before.
    Same,
    /// Less resistant than before.
    Better,
}

/// How a class looks on the map and in the legend.
#[derive(Debug, Clone, PartialEq)]
pub struct Class {
    /// What it is, for the legend.
    pub name: String,
    /// The letter or number on the field.
    pub letter: String,
    /// What stands in its place where it does not fit.
    pub short: String,
    /// Fill; none: the bare ground.
    pub fill: Option<Color32>,
    /// What lies over the fill.
    pub over: Over,
    /// The arrow beside the letter.
    pub way: Option<Way>,
    /// Whether the outline is dotted: knowledge that is too old.
    pub dotted: bool,
    /// Row of the legend, worst first.
    pub rank: i32,
    /// Column of the legend where the colouring has two ways of reading.
    pub column: usize,
}

impl Class {
    /// A class with a fill and nothing else.
    pub fn plain(fill: Option<Color32>) -> Self {
        Self {
            name: String::new(),
            letter: String::new(),
            short: String::new(),
            fill,
            over: Over::Nothing,
            way: None,
            dotted: false,
            rank: 0,
            column: 0,
        }
    }

    /// The class of a rating, without a name.
    pub fn rating(rating: Option<Rating>) -> Self {
        match rating {
            Some(rating) => {
                let fill = Some(style::rating_colour(rating));
                Self { letter: rating.label().into(), rank: 10 * rating as i32, ..Self::plain(fill) }
            }
            None => Self { name: "Never tested".into(), letter: "n.t.".into(), rank: 1000, ..Self::unknown() },
        }
    }

    /// Ground of which nothing is known.
    pub fn unknown() -> Self {
        Self { over: Over::Unknown, ..Self::plain(None) }
    }
}

/// How fields are coloured.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct How {
    /// Colouring.
    pub colouring: Colouring,
    /// Which results ratings are taken from.
    pub of: RatingOf,
    /// Harvest year.
    pub year: i32,
}

/// The class of a field.
pub fn class_of(facts: &Facts, row: &Row, how: &How) -> Class {
    let latest = || facts.history.latest(row.id, &how.of);
    match how.colouring {
        Colouring::Plain | Colouring::Density | Colouring::Expected => Class::plain(None),
        Colouring::Rating => rated(latest(), &how.of),
        Colouring::RatingAndAge => with_age(latest(), how, facts.interval),
        Colouring::Change => changed(facts, row, how),
        Colouring::Age => row.years.map_or_else(|| Class::rating(None), |years| aged(years.max(0), facts.interval)),
        Colouring::Due => due(row, facts.interval),
        Colouring::Stage => staged(facts, row),
        Colouring::ControlLeft | Colouring::AtRisk => planned(facts, row, how.colouring),
    }
}

fn rated(tested: Option<Tested>, of: &RatingOf) -> Class {
    let class = Class::rating(tested.map(|tested| tested.rating));
    match tested {
        // A line of the legend of its own, below ours.
        Some(tested) if tested.by.is_laboratory() => {
            let name = "By the laboratory, not worked out by us".to_owned();
            Class { name, letter: tested.words(), rank: class.rank - 1, ..class }
        }
        // "Resistant, control probably reduced": on the map the letters say the first part.
        Some(tested) => Class { name: first_upper(tested.rating.meaning().trim_start_matches("resistant, ")), ..class },
        None if *of == RatingOf::Worst => class,
        None => Class { name: "Not tested for this".into(), ..class },
    }
}

/// The age of what is known goes by the test that found it, which need not be the last one.
fn with_age(tested: Option<Tested>, how: &How, interval: i32) -> Class {
    let class = rated(tested, &how.of);
    let Some(tested) = tested else { return class };
    let age = Age::of(how.year - tested.year, interval);
    let over = match age {
        Age::Fresh => Over::Nothing,
        Age::Old => Over::Stipple,
        Age::Past => Over::Hatch,
    };
    Class {
        letter: format!("{} {}", tested.words(), tested.year),
        short: tested.words(),
        over,
        column: age as usize,
        ..class
    }
}

fn changed(facts: &Facts, row: &Row, how: &How) -> Class {
    let Some(change) = facts.history.change(row.id, &how.of) else {
        let tested = facts.history.latest(row.id, &how.of);
        let class = rated(tested, &how.of);
        return if tested.is_some() { Class { dotted: true, column: 3, ..class } } else { class };
    };
    let class = rated(Some(change.after), &how.of);
    let (way, over) = match change.steps() {
        1.. => (Way::Worse, Over::Hatch),
        0 => (Way::Same, Over::Nothing),
        _ => (Way::Better, Over::Stipple),
    };
    let (before, after) = (change.before.words(), change.after.words());
    let letter = if way == Way::Same { after.clone() } else { format!("{before} to {after}") };
    Class { letter, short: after, way: Some(way), over, column: way as usize, ..class }
}

fn aged(years: i32, interval: i32) -> Class {
    let letter = years.to_string();
    if years >= interval {
        let name = format!("{interval} harvests ago or more");
        return Class { name, letter, dotted: true, rank: 900, ..Class::plain(Some(style::AGE[5])) };
    }
    let name = match years {
        0 => "This harvest".to_owned(),
        1 => "1 harvest ago".to_owned(),
        4.. if interval > 5 => format!("4 to {} harvests ago", interval - 1),
        years => format!("{years} harvests ago"),
    };
    Class { name, letter, rank: years.min(4), ..Class::plain(Some(style::AGE[(years as usize).min(4)])) }
}

/// By why a field is due or not; due ones carry their place in the order of urgency, others the harvest they are due again.
fn due(row: &Row, interval: i32) -> Class {
    let too_old = row.last_test.is_none() || row.years.is_some_and(|years| years >= interval);
    let class = |name: &str, letter: String, rank, over, fill| {
        let plain = Class::plain(fill);
        Class { name: name.into(), letter, rank, over, ..plain }
    };
    let number = row.rank.to_string();
    let fill = Some(style::DUE);
    if row.mark == Some(Mark::Vetoed) {
        return class("Vetoed for this harvest", "veto".into(), 50, Over::Nothing, None);
    }
    match (row.due, row.last_test) {
        (true, None) => class("Due: never tested", number, 1000, Over::Unknown, fill),
        (true, Some(_)) if too_old => class("Due: last test too old", number, 900, Over::Nothing, fill),
        (true, Some(_)) => class("Due for another reason", number, 800, Over::Hatch, fill),
        (false, _) if too_old => class("Not due: scouting found none", "0".into(), 100, Over::Stipple, None),
        (false, last) => {
            let again = last.map_or_else(String::new, |last| (last + row.due_after).to_string());
            class("Not due yet", again, 0, Over::Nothing, None)
        }
    }
}

/// The class of a stage: the darker, the further on; lost is hatched, and what is done stands back.
pub fn stage_class(stage: Stage) -> Class {
    let fill = match stage {
        Stage::Planned => Some(style::AGE[5]),
        Stage::Collected => Some(style::AGE[4]),
        Stage::Dried => Some(style::AGE[3]),
        Stage::Sealed => Some(style::AGE[2]),
        Stage::Posted => Some(style::AGE[1]),
        Stage::Received => Some(style::AGE[0]),
        Stage::Reported | Stage::Lost | Stage::Withdrawn => None,
    };
    Class {
        name: first_upper(stage.meaning()),
        letter: stage.letter().into(),
        over: if stage == Stage::Lost { Over::Hatch } else { Over::Nothing },
        // What is still to be done stands on top of the legend.
        rank: 500 - 10 * stage as i32,
        ..Class::plain(fill)
    }
}

/// By the least advanced sample of the field; more than one is counted beside the letter.
fn staged(facts: &Facts, row: &Row) -> Class {
    let samples = facts.samples_of(row.id);
    let Some(first) = samples.first() else {
        return Class { name: "No sample this harvest".into(), letter: "–".into(), rank: 0, ..Class::plain(None) };
    };
    let class = stage_class(first.status.stage);
    let short = class.letter.clone();
    let letter = if samples.len() > 1 { format!("{short} 1/{}", samples.len()) } else { short.clone() };
    Class { letter, short, ..class }
}

/// By what is left of the planned programme: control, or the money that buys nothing.
fn planned(facts: &Facts, row: &Row, colouring: Colouring) -> Class {
    let act = &facts.act;
    let Some(check) = act.checks.of(row.id) else {
        return Class { name: "No programme planned".into(), letter: "–".into(), rank: -10, ..Class::plain(None) };
    };
    if check.tested == act::Tested::None {
        return Class { name: "No step tested".into(), letter: "n.t.".into(), rank: 1000, ..Class::unknown() };
    }
    let (class, fill, name) = if colouring == Colouring::ControlLeft {
        let class = act::control_class(check.control.likely);
        (class, style::CONTROL_LEFT[class], act::control_words(class))
    } else {
        let class = act::money_class(check.at_risk_per_ha.likely, &act.money_limits);
        (class, style::AT_RISK[class], act::money_words(class, &act.money_limits, &act.currency))
    };
    let in_part = check.tested == act::Tested::Partly;
    let over = if in_part { Over::Stipple } else { Over::Nothing };
    let letter = act::LETTERS[class].to_owned();
    Class { name, letter, over, rank: class as i32, column: usize::from(in_part), ..Class::plain(Some(fill)) }
}

/// By the median of heads/m2 at the end of the years looked ahead, in the classes of density.
pub fn expected(found: Option<&Expected>, field: FieldId) -> Class {
    let Some(found) = found else {
        return Class { name: "Being drawn".into(), letter: "…".into(), rank: -10, ..Class::plain(None) };
    };
    let Some(heads) = found.heads.get(&field) else {
        return Class { name: "No density to start from".into(), letter: "n.s.".into(), rank: 1000, ..Class::unknown() };
    };
    let class = DensityUnit::HeadsPerM2.class_number(heads.median);
    let limits = DensityUnit::HEADS_UPPER;
    let name = match class {
        0 => "Next to none".to_owned(),
        4 => format!("Over {} heads/m2", limits[3]),
        class => format!("To {} heads/m2", limits[class]),
    };
    let letter = if heads.median >= 10.0 { format!("{:.0}", heads.median) } else { format!("{:.1}", heads.median) };
    Class { name, letter, rank: class as i32, ..Class::plain(Some(style::DENSITY[class])) }
}

fn first_upper(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_uppercase().collect::<String>() + letters.as_str()).unwrap_or_default()
}
