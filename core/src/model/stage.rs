//! The way of a sample from the plan to its result.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::model::settings::words;

/// Where a sample is on its way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Stage {
    /// Its envelope has a code; no seed yet.
    Planned,
    /// The seed is in the envelope.
    Collected,
    /// Dry enough to be sealed.
    Dried,
    /// Cleaned, sealed and labelled.
    Sealed,
    /// On its way to the laboratory.
    Posted,
    /// The laboratory has it.
    Received,
    /// Its results are in.
    Reported,
    /// Gone: no result will come of it.
    Lost,
    /// Given up by the user, with a reason in the note.
    Withdrawn,
}

words!(Stage, "stage of a sample",
    Self::Planned => "planned", Self::Collected => "collected", Self::Dried => "dried", Self::Sealed => "sealed",
    Self::Posted => "posted", Self::Received => "received", Self::Reported => "reported", Self::Lost => "lost",
    Self::Withdrawn => "withdrawn");

impl Stage {
    /// The letter on the map.
    pub fn letter(self) -> &'static str {
        match self {
            Self::Planned => "P",
            Self::Collected => "C",
            Self::Dried => "D",
            Self::Sealed => "S",
            Self::Posted => "T",
            Self::Received => "L",
            Self::Reported => "R",
            Self::Lost => "X",
            Self::Withdrawn => "W",
        }
    }

    /// What has been done to the sample, for lists: "In the post".
    pub fn meaning(self) -> &'static str {
        match self {
            Self::Planned => "planned, not collected",
            Self::Collected => "collected, drying",
            Self::Dried => "dry, not sealed",
            Self::Sealed => "sealed in its envelope",
            Self::Posted => "in transit to the laboratory",
            Self::Received => "at the laboratory",
            Self::Reported => "results are in",
            Self::Lost => "lost",
            Self::Withdrawn => "withdrawn",
        }
    }

    /// The stage that follows when all goes well; none after the last.
    pub fn next(self) -> Option<Self> {
        match self {
            Self::Planned => Some(Self::Collected),
            Self::Collected => Some(Self::Dried),
            Self::Dried => Some(Self::Sealed),
            Self::Sealed => Some(Self::Posted),
            Self::Posted => Some(Self::Received),
            Self::Received => Some(Self::Reported),
            Self::Reported | Self::Lost | Self::Withdrawn => None,
        }
    }

    /// Whether nothing more is to be done with the sample.
    pub fn is_end(self) -> bool {
        self.next().is_none()
    }
}

/// A sample came to a stage.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct StageEvent {
    /// The stage.
    pub stage: Stage,
    /// The day; none: not known.
    pub date: Option<Date>,
    /// Who did it, or who said so.
    #[serde(default)]
    pub person: String,
    /// What is worth knowing of it: the carrier's number, why it was withdrawn.
    #[serde(default)]
    pub note: String,
}
