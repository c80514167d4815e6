//! The records: plain data, each with the checks that need no other record.
//!
//! Positions are WGS 84 longitude (x) and latitude (y) in degrees; measurements are made in the
//! field's local metre plane ([`crate::crs::LocalPlane`]), never in degrees.

mod field;
mod id;
mod lineage;
mod names;
mod overlaps;
mod plan;
mod programme;
mod records;
mod result;
mod sample;
mod scenario;
mod scouting;
mod season;
mod season_settings;
mod settings;
mod stage;
mod treatment;
mod walked;

pub use field::{Farm, Field, Former, Gate, Measured, NoGo, Tramlines};
pub use id::*;
pub use names::by_name;
pub use overlaps::overlaps;
pub use plan::{Figures, MeanEstimate, Method, Patch, Plan, PlanSettings, SampleUnits, Stop, Walk};
pub use programme::{Control, FieldProgramme, Programme, ProgrammeStep};
pub use records::{Record, Records, same_name};
pub use result::{Assay, HRAC_TABLE, Measure, Raw, Replicate, Standard, StandardRole, TestResult};
pub use sample::{AssayKind, Rating, Sample};
pub use scenario::{CropMoney, Cultivation, LowLikelyHigh, OutlookSettings, Scenario, ScenarioYear};
pub use scouting::{DensityClass, DensityUnit, ScoutPoint, ScoutRaster, ScoutZone, Survey, SurveyKind};
pub use season::{DueMark, LeftOut, Mark, RipeCheck, RoundSettings, Rounds, Visit};
pub use season_settings::{DueRule, DueRules, DueSign, SeasonSettings};
pub use settings::{ActSettings, Between, Combine, DensitySettings, Layout, ResultSettings, SampleSettings, Settings};
pub use stage::{Stage, StageEvent};
pub use treatment::{Crop, ModeOfAction, Spray, group_of, mode_of_action, mode_of_group, modes_of_action};
pub use walked::{TakenAt, Walked, WalkedFigures};
