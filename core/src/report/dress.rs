//! How a map stands on its paper: a whole sheet or a figure for a page, when it was drawn, and which part and layers of it.

use std::collections::BTreeMap;
use std::sync::Arc;

use geo::Rect;
use jiff::civil::Date;

use crate::model::FieldId;

/// What stands round the map.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Form {
    /// A sheet of its own: title, sources, the word of caution.
    #[default]
    Sheet,
    /// A figure for a page that says these itself; letters keep their size, whatever the figure's.
    Figure {
        /// Whether the legend stands beside or below the map.
        legend: bool,
    },
    /// The fields alone, without words: for a cover.
    Emblem,
}

/// The layers that a view of the window can switch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs, clippy::struct_excessive_bools)] // each is a switch of its own
pub struct Layers {
    pub fills: bool,
    pub density: bool,
    pub outlines: bool,
    pub no_go: bool,
    pub scouting: bool,
    pub tramlines: bool,
    pub gates: bool,
    pub plans: bool,
    pub rounds: bool,
    pub walked: bool,
    pub labels: bool,
}

impl Layers {
    /// None of them.
    pub const NONE: Self = Self {
        fills: false,
        density: false,
        outlines: false,
        no_go: false,
        scouting: false,
        tramlines: false,
        gates: false,
        plans: false,
        rounds: false,
        walked: false,
        labels: false,
    };
}

/// A part of the ground, as the window shows it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct View {
    /// What is to be seen at least, degrees.
    pub bounds: Rect<f64>,
    /// What is drawn.
    pub layers: Layers,
}

/// How a map stands on its paper.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Dress {
    /// Sheet or figure.
    pub form: Form,
    /// The day it is drawn, said in the foot.
    pub date: Option<Date>,
    /// A part of the ground; none: all fields asked for.
    pub view: Option<View>,
    /// The day and car whose drive is drawn, where [`Layers::rounds`] is on.
    pub round: Option<(Date, usize)>,
    /// What [`super::Colouring::Expected`] shows.
    pub expected: Option<Arc<Expected>>,
}

/// Density expected at the end of the years looked ahead, by somebody who has drawn them.
#[derive(Debug, Clone, PartialEq)]
pub struct Expected {
    /// The scenario's name.
    pub scenario: String,
    /// The harvest.
    pub harvest: i32,
    /// Median of heads/m2 by field; fields without a density to start from are missing.
    pub heads: BTreeMap<FieldId, f64>,
}

impl Dress {
    /// A figure with its legend.
    pub fn figure() -> Self {
        Self { form: Form::Figure { legend: true }, ..Self::default() }
    }

    /// A figure that its caption explains.
    pub fn bare_figure() -> Self {
        Self { form: Form::Figure { legend: false }, ..Self::default() }
    }
}

/// A map drawn, with what a page says about it.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawing {
    /// The map as SVG text.
    pub svg: String,
    /// What it was made from and of when that is, one sentence each.
    pub sources: Vec<String>,
    /// The legend in words, for those who cannot see the map: class, fields, hectares.
    pub described: String,
}
