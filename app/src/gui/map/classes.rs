//! The class of a field in a colouring: fill, letter and what lies over the fill; the same as on printed maps.

use awn_core::model::Rating;
use egui::Color32;

use crate::gui::facts::Row;
use crate::gui::style;
use crate::gui::view_state::Colouring;

/// What lies over the fill of a class.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Over {
    /// Nothing.
    Nothing,
    /// Fine dots: knowledge that gets old.
    Stipple,
    /// Diagonal lines: knowledge past the interval.
    Hatch,
    /// Wide diagonal lines: nothing known.
    Unknown,
}

/// How a class looks on the map and in the legend.
#[derive(Debug, Clone, PartialEq)]
pub struct Class {
    /// What it is, for the legend.
    pub name: String,
    /// The letter or number on the field.
    pub letter: String,
    /// Fill; none: the bare ground.
    pub fill: Option<Color32>,
    /// What lies over the fill.
    pub over: Over,
    /// Whether the outline is dotted: knowledge that is too old.
    pub dotted: bool,
    /// Order in the legend, worst first.
    pub rank: i32,
}

impl Class {
    /// A class with a fill and nothing else.
    pub fn plain(fill: Option<Color32>) -> Self {
        Self { name: String::new(), letter: String::new(), fill, over: Over::Nothing, dotted: false, rank: 0 }
    }

    /// The class of a rating, without a name.
    pub fn rating(rating: Option<Rating>) -> Self {
        match rating {
            Some(rating) => {
                let fill = Some(style::rating_colour(rating));
                Self { letter: rating.label().into(), rank: 10 * rating as i32, ..Self::plain(fill) }
            }
            None => Self {
                name: "Never tested".into(),
                letter: "n.t.".into(),
                over: Over::Unknown,
                rank: 1000,
                ..Self::plain(None)
            },
        }
    }
}

/// The class of a field in a colouring, for a retest interval and a harvest year.
pub fn class_of(row: &Row, colouring: Colouring, interval: i32, year: i32) -> Class {
    match colouring {
        Colouring::Plain => Class::plain(None),
        Colouring::Rating => rated(row, Over::Nothing),
        Colouring::RatingAndAge => {
            // The age of what is known goes by the test that found it, which need not be the last one.
            let age = row.worst_year.map_or(0, |found| year - found);
            rated(
                row,
                if age >= interval {
                    Over::Hatch
                } else if age >= 2 {
                    Over::Stipple
                } else {
                    Over::Nothing
                },
            )
        }
        Colouring::Age => row.years.map_or_else(|| Class::rating(None), |years| aged(years.max(0), interval)),
        Colouring::Due => due(row),
    }
}

fn rated(row: &Row, over: Over) -> Class {
    let class = Class::rating(row.worst);
    let Some(rating) = row.worst else { return class };
    // "Resistant, control probably reduced": on the map the letters say the first part.
    Class { name: first_upper(rating.meaning().trim_start_matches("resistant, ")), over, ..class }
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
        years => format!("{years} harvests ago"),
    };
    Class { name, letter, rank: years, ..Class::plain(Some(style::AGE[(years as usize).min(4)])) }
}

fn due(row: &Row) -> Class {
    if !row.due {
        return Class { name: "Not due this harvest".into(), ..Class::plain(None) };
    }
    let letter = row.rank.to_string();
    let fill = Class::plain(Some(style::DUE));
    if row.last_test.is_none() {
        Class { name: "Due, never tested".into(), letter, over: Over::Unknown, rank: 1000, ..fill }
    } else {
        Class { name: "Due, last test too old".into(), letter, rank: 900, ..fill }
    }
}

fn first_upper(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_uppercase().collect::<String>() + letters.as_str()).unwrap_or_default()
}
