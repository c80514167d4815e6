//! Parameters of the seedbank model: range, unit, source and confidence from `assets/tables/seedbank.csv`, effects of measures from
//! `assets/tables/measures.csv`, and what the user set otherwise.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use crate::act::measures::measure;
use crate::model::LowLikelyHigh;
use crate::problem::Problems;

/// A parameter as the table has it.
#[derive(Debug, Clone, PartialEq)]
pub struct Parameter {
    /// Which.
    pub key: Key,
    /// Its range.
    pub range: LowLikelyHigh,
    /// Unit.
    pub unit: String,
    /// Whether it is drawn anew every year; otherwise once for a field.
    pub every_year: bool,
    /// What it is.
    pub meaning: String,
    /// Where it is from.
    pub source: String,
    /// How sure the source is, 0 to 1.
    pub confidence: f64,
}

macro_rules! keys {
    ($($name:ident $word:literal,)*) => {
        /// The parameters, in the order of the table.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
        #[allow(missing_docs)] // the table says what they are
        pub enum Key {
            $($name,)*
        }

        impl Key {
            /// Every parameter, in the order of the table.
            pub const ALL: &[Self] = &[$(Self::$name,)*];

            /// Its name in the table and in the project.
            pub fn word(self) -> &'static str {
                match self {
                    $(Self::$name => $word,)*
                }
            }
        }
    };
}

keys! {
    HeadsAPlant "heads_a_plant",
    GreatestHeads "greatest_heads",
    SeedsAHead "seeds_a_head",
    Returned "returned",
    Viable "viable",
    Survive "survive",
    Emerge "emerge",
    Decline "decline",
    FreshShare "fresh_share",
    BuriedAtStart "buried_at_start",
    PloughBuries "plough_buries",
    PloughBringsUp "plough_brings_up",
    DeepBuries "deep_buries",
    DeepBringsUp "deep_brings_up",
    ShallowBuries "shallow_buries",
    ShallowBringsUp "shallow_brings_up",
    DrilledLate "drilled_late",
    SpringSown "spring_sown",
    CropPlants "crop_plants",
    Competitive "competitive",
    NoCrop "no_crop",
    LossAPlant "loss_a_plant",
    GreatestLoss "greatest_loss",
    LossAHead "loss_a_head",
    LateOctober "late_october",
    LateNovember "late_november",
    LateDecember "late_december",
}

/// How many parameters there are.
pub const COUNT: usize = Key::ALL.len();

/// The table of parameters.
pub fn table() -> &'static [Parameter] {
    static TABLE: OnceLock<Vec<Parameter>> = OnceLock::new();
    TABLE.get_or_init(|| {
        let text = include_str!("../../../../assets/tables/seedbank.csv");
        let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
        reader
            .records()
            .flatten()
            .filter_map(|row| {
                let cell = |column: usize| row.get(column).unwrap_or_default().to_owned();
                let number = |column: usize| cell(column).parse::<f64>().ok();
                let source = cell(7);
                let (range, source) = match source.strip_prefix("measure ").and_then(measure) {
                    Some(measure) => {
                        let [low, high] = measure.range?;
                        let range = LowLikelyHigh::new(low, measure.mean, high).map(|percent| percent / 100.0);
                        (range, measure.source.clone())
                    }
                    None => (LowLikelyHigh::new(number(1)?, number(2)?, number(3)?), source),
                };
                Some(Parameter {
                    key: Key::ALL.iter().copied().find(|key| key.word() == cell(0))?,
                    range,
                    unit: cell(4),
                    every_year: cell(5) == "year",
                    meaning: cell(6),
                    source,
                    confidence: number(8)?,
                })
            })
            .collect()
    })
}

/// The ranges that a project uses.
#[derive(Debug, Clone, PartialEq)]
pub struct Parameters {
    ranges: [LowLikelyHigh; COUNT],
}

impl Default for Parameters {
    fn default() -> Self {
        let mut ranges = [LowLikelyHigh::fixed(0.0); COUNT];
        for parameter in table() {
            ranges[parameter.key as usize] = parameter.range;
        }
        Self { ranges }
    }
}

impl Parameters {
    /// The table's, with what was set otherwise; what is no parameter or no possible range is an error.
    pub fn with(set: &BTreeMap<String, LowLikelyHigh>, problems: &mut Problems) -> Self {
        let mut parameters = Self::default();
        for (word, range) in set {
            let place = format!("parameter {word}");
            let Some(key) = Key::ALL.iter().copied().find(|key| key.word() == word) else {
                problems.error(place, "the model has no such parameter.", "awn outlook --parameters lists them.");
                continue;
            };
            if !range.is_ordered() {
                problems.error(place, "its values do not rise from the least to the greatest.", "Give LOW,LIKELY,HIGH.");
                continue;
            }
            let (least, most) = key.limits();
            if range.low < least || range.high > most {
                let hint = format!("It lies from {least} to {most}.");
                problems.error(place, "it is out of range.", hint);
                continue;
            }
            parameters.ranges[key as usize] = *range;
        }
        parameters
    }

    /// The range of a parameter.
    pub fn range(&self, key: Key) -> LowLikelyHigh {
        self.ranges[key as usize]
    }

    /// All likely values.
    pub fn likely(&self) -> Values {
        Values(std::array::from_fn(|index| self.ranges[index].likely))
    }

    /// The same with one range set; for checks at fixed values.
    #[must_use]
    pub fn set(mut self, key: Key, range: LowLikelyHigh) -> Self {
        self.ranges[key as usize] = range;
        self
    }
}

impl Key {
    /// What a value can be at all: shares from 0 to 1, effects that may also be an increase, counts above 0.
    pub fn limits(self) -> (f64, f64) {
        match self {
            Self::HeadsAPlant | Self::SeedsAHead => (0.01, 1e5),
            Self::GreatestHeads => (1.0, 1e5),
            Self::FreshShare => (0.01, 1.0),
            Self::DrilledLate => (-10.0, 1.0),
            Self::BuriedAtStart
            | Self::LossAPlant
            | Self::LossAHead
            | Self::LateOctober
            | Self::LateNovember
            | Self::LateDecember => (0.0, 100.0),
            Self::GreatestLoss => (1.0, 100.0),
            _ => (0.0, 1.0),
        }
    }
}

/// One value of each parameter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Values(pub [f64; COUNT]);

impl Values {
    /// The value of a parameter.
    pub fn of(&self, key: Key) -> f64 {
        self.0[key as usize]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_is_whole() {
        let keys: Vec<Key> = table().iter().map(|row| row.key).collect();
        assert_eq!(keys, Key::ALL);
        for row in table() {
            let (least, most) = row.key.limits();
            assert!(row.range.is_ordered() && row.range.low >= least && row.range.high <= most, "{row:?}");
            assert!((0.0..=1.0).contains(&row.confidence) && !row.source.is_empty() && !row.meaning.is_empty(), "{row:?}");
        }
    }

    #[test]
    fn what_is_set_wrongly_is_named() {
        let set = BTreeMap::from([
            ("viable".to_owned(), LowLikelyHigh::new(0.5, 0.6, 1.2)),
            ("emerge".to_owned(), LowLikelyHigh::new(0.3, 0.2, 0.4)),
            ("eagerness".to_owned(), LowLikelyHigh::fixed(1.0)),
            ("decline".to_owned(), LowLikelyHigh::fixed(0.75)),
        ]);
        let mut problems = Problems::new();
        let parameters = Parameters::with(&set, &mut problems);
        let places: Vec<_> = problems.errors().map(|problem| problem.place.as_str()).collect();
        assert_eq!(places, ["parameter eagerness", "parameter emerge", "parameter viable"]);
        assert_eq!(parameters.range(Key::Decline).likely, 0.75);
        assert_eq!(parameters.range(Key::Viable).high, 0.77);
    }
}
