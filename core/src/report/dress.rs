//! How a map stands on its paper: a whole sheet or a figure for a page, when it was drawn, and which part and layers of it.

use std::collections::BTreeMap;
use std::sync::Arc;

use geo::Rect;
use jiff::civil::Date;

use crate::model::FieldId;
use crate::report::backdrop::Ground;

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

/// Something that is drawn on the map.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[allow(missing_docs)]
pub enum Layer {
    Background,
    Fills,
    Density,
    Tramlines,
    NoGo,
    Outlines,
    Gates,
    Scouting,
    Plans,
    Rounds,
    Walked,
    Labels,
}

impl Layer {
    /// Its name in the drawing.
    pub fn name(self) -> &'static str {
        match self {
            Self::Background => "background",
            Self::Fills => "fills",
            Self::Density => "densities",
            Self::Tramlines => "tramlines",
            Self::NoGo => "no-go-areas",
            Self::Outlines => "outlines",
            Self::Gates => "gates",
            Self::Scouting => "scouting",
            Self::Plans => "plans",
            Self::Rounds => "rounds",
            Self::Walked => "walks",
            Self::Labels => "labels",
        }
    }
}

/// The layers that are drawn, lowest first, and how strongly: 0 to 1.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Layers(Vec<(Layer, f64)>);

impl Layers {
    /// Layers and their opacity, lowest first; those that nobody could see are left out.
    pub fn new(layers: impl IntoIterator<Item = (Layer, f64)>) -> Self {
        Self(layers.into_iter().filter(|(_, opacity)| *opacity > 0.0).collect())
    }

    /// Layers in full strength, lowest first.
    pub fn of(layers: &[Layer]) -> Self {
        Self(layers.iter().map(|layer| (*layer, 1.0)).collect())
    }

    /// Whether one of them is drawn.
    pub fn has(&self, wanted: Layer) -> bool {
        self.0.iter().any(|(layer, _)| *layer == wanted)
    }

    /// Layers with their opacity, lowest first.
    pub fn each(&self) -> impl Iterator<Item = (Layer, f64)> + '_ {
        self.0.iter().copied()
    }
}

/// A part of the ground, as the window shows it.
#[derive(Debug, Clone, PartialEq)]
pub struct View {
    /// What is to be seen at least, degrees.
    pub bounds: Rect<f64>,
    /// What is drawn.
    pub layers: Layers,
    /// Whether every class has a pattern besides its colour and letter.
    pub patterns: bool,
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
    /// What lies under the fields.
    pub backdrop: Option<Ground>,
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
    /// What is not as it should be: background that could not be had, letters that could not be drawn; a sentence each.
    pub faults: Vec<String>,
}
