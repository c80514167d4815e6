//! Identifiers: UUID version 7, so that two copies of a project can be merged and records sort by when they were made.

use serde::{Deserialize, Serialize};
use uuid::Uuid;

macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident),* $(,)?) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(pub Uuid);

        impl $name {
            /// A new identifier, later in order than every earlier one.
            #[allow(clippy::new_without_default)]
            pub fn new() -> Self {
                Self(Uuid::now_v7())
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                self.0.fmt(f)
            }
        }

        impl std::str::FromStr for $name {
            type Err = uuid::Error;

            fn from_str(text: &str) -> Result<Self, Self::Err> {
                Uuid::parse_str(text).map(Self)
            }
        }
    )*};
}

ids! {
    /// A farm.
    FarmId,
    /// A field.
    FieldId,
    /// A gate.
    GateId,
    /// A no-go area.
    NoGoId,
    /// The tramlines of a field.
    TramlinesId,
    /// A scouting survey.
    SurveyId,
    /// A plan.
    PlanId,
    /// A sample.
    SampleId,
    /// An assay.
    AssayId,
    /// A standard in an assay.
    StandardId,
    /// A test result.
    ResultId,
    /// A crop of one field and harvest year.
    CropId,
    /// A spray.
    SprayId,
    /// A field pinned or vetoed.
    DueMarkId,
    /// A look at how ripe seed is.
    RipeCheckId,
    /// The rounds of a harvest year.
    RoundsId,
    /// A walk as it was walked.
    WalkedId,
    /// A spray programme.
    ProgrammeId,
    /// What is planned in one field and harvest year.
    FieldProgrammeId,
    /// A scenario of the coming years.
    ScenarioId,
}
