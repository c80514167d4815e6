//! What a report shall hold.

use std::collections::BTreeSet;
use std::sync::Arc;

use jiff::civil::Date;

use crate::model::FieldId;
use crate::report::words::Words;

/// A part of a report.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Part {
    /// Cover.
    Cover,
    /// What matters, in plain words.
    Summary,
    /// Map of the worst ratings.
    RatingMap,
    /// Map of harvests since the last test.
    AgeMap,
    /// Map of rating and age together.
    RatingAndAgeMap,
    /// Map of the weed's density.
    DensityMap,
    /// Fields due a test, dates, stops and walks of the coming season.
    Season,
    /// Planned programmes, what is left of them, the money at risk; on pages of fields the coming years too.
    Act,
    /// Every field on a line.
    Fields,
    /// A page for each chosen field.
    Pages,
    /// Two harvest years side by side.
    Years,
    /// Farm against farm, names hidden.
    Farms,
    /// How figures are come by, and what words mean.
    Method,
    /// What the report is not.
    Cautions,
    /// Where the data come from.
    Sources,
}

impl Part {
    /// Every part, in the order of the report.
    pub const ALL: [Self; 15] = [
        Self::Cover,
        Self::Summary,
        Self::RatingMap,
        Self::AgeMap,
        Self::RatingAndAgeMap,
        Self::DensityMap,
        Self::Season,
        Self::Act,
        Self::Fields,
        Self::Years,
        Self::Farms,
        Self::Pages,
        Self::Method,
        Self::Cautions,
        Self::Sources,
    ];

    /// The word of the command line.
    pub fn label(self) -> &'static str {
        match self {
            Self::Cover => "cover",
            Self::Summary => "summary",
            Self::RatingMap => "rating-map",
            Self::AgeMap => "age-map",
            Self::RatingAndAgeMap => "rating-and-age-map",
            Self::DensityMap => "density-map",
            Self::Season => "season",
            Self::Act => "act",
            Self::Fields => "fields",
            Self::Pages => "field-pages",
            Self::Years => "years",
            Self::Farms => "farms",
            Self::Method => "method",
            Self::Cautions => "cautions",
            Self::Sources => "sources",
        }
    }

    /// What it is called, for people.
    pub fn name(self) -> &'static str {
        match self {
            Self::Cover => "Cover",
            Self::Summary => "Summary",
            Self::RatingMap => "Map of ratings",
            Self::AgeMap => "Map of ages",
            Self::RatingAndAgeMap => "Map of ratings and ages",
            Self::DensityMap => "Map of density",
            Self::Season => "Coming season",
            Self::Act => "Programmes, money and coming years",
            Self::Fields => "Table of fields",
            Self::Pages => "Pages of fields",
            Self::Years => "Two harvests side by side",
            Self::Farms => "Farm against farm, names hidden",
            Self::Method => "Method and definitions",
            Self::Cautions => "Cautions",
            Self::Sources => "Sources",
        }
    }
}

impl std::str::FromStr for Part {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let plain = text.trim().to_lowercase();
        Self::ALL.into_iter().find(|part| part.label() == plain).ok_or_else(|| {
            let all = Self::ALL.map(Self::label).join(", ");
            format!("“{}” is no part of a report; use {all}", text.trim())
        })
    }
}

/// Whom the report is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Version {
    /// The grower: what it means, with few figures.
    Grower,
    /// The consultant: intervals, standards, methods.
    #[default]
    Consultant,
}

impl Version {
    /// Parts that it has unless others are asked for. Two harvests are compared when a second one is given.
    pub fn parts(self) -> BTreeSet<Part> {
        let left_out: &[Part] = match self {
            Self::Grower => &[Part::Years, Part::Farms, Part::AgeMap, Part::Method],
            Self::Consultant => &[Part::Years, Part::Farms],
        };
        Part::ALL.into_iter().filter(|part| !left_out.contains(part)).collect()
    }
}

/// Size of the paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Paper {
    /// 210 by 297 mm (ISO 216).
    #[default]
    A4,
    /// 8.5 by 11 inches.
    Letter,
}

impl Paper {
    /// Width and height, mm.
    pub fn size_mm(self) -> (f64, f64) {
        match self {
            Self::A4 => (210.0, 297.0),
            Self::Letter => (215.9, 279.4),
        }
    }

    /// Its name to the typesetter.
    pub(super) fn name(self) -> &'static str {
        match self {
            Self::A4 => "a4",
            Self::Letter => "us-letter",
        }
    }
}

/// A picture for the cover.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cover {
    /// End of the file's name: png, jpg, svg, webp or gif.
    pub ending: String,
    /// The file.
    pub bytes: Vec<u8>,
}

impl Cover {
    /// Endings of pictures that can be used.
    pub const ENDINGS: [&'static str; 6] = ["png", "jpg", "jpeg", "svg", "webp", "gif"];
}

/// What a report shall hold.
#[derive(Debug, Clone, PartialEq)]
pub struct ReportRequest {
    /// Harvest year: everything as known in it.
    pub year: i32,
    /// The fields it is about; none: all of the year.
    pub fields: Option<BTreeSet<FieldId>>,
    /// The fields that get a page; none: all that it is about.
    pub pages: Option<BTreeSet<FieldId>>,
    /// Its parts.
    pub parts: BTreeSet<Part>,
    /// Whom it is for.
    pub version: Version,
    /// Title; empty: a usual one.
    pub title: String,
    /// Who answers for it; empty: nobody is named.
    pub author: String,
    /// Picture on the cover.
    pub cover: Option<Arc<Cover>>,
    /// Paper.
    pub paper: Paper,
    /// The day it bears.
    pub date: Date,
    /// The harvest to set beside [`ReportRequest::year`], for [`Part::Years`].
    pub beside: Option<i32>,
    /// The words it is written in.
    pub words: Words,
}

impl ReportRequest {
    /// A consultant's report on all fields, with the usual parts.
    pub fn new(year: i32, date: Date) -> Self {
        Self {
            year,
            fields: None,
            pages: None,
            parts: Version::Consultant.parts(),
            version: Version::Consultant,
            title: String::new(),
            author: String::new(),
            cover: None,
            paper: Paper::A4,
            date,
            beside: None,
            words: Words::english(),
        }
    }

    /// Whether a part is asked for.
    pub fn has(&self, part: Part) -> bool {
        self.parts.contains(&part)
    }
}
