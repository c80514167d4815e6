//! All records of a project in memory, and the questions every part asks of them.

use std::collections::BTreeMap;
use std::sync::Arc;

use geo::MultiPolygon;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::model::{
    Assay, AssayId, Crop, CropId, DueMark, DueMarkId, Farm, FarmId, Field, FieldId, FieldProgramme, FieldProgrammeId, Gate,
    GateId, NoGo, NoGoId, Plan, PlanId, Programme, ProgrammeId, ResultId, RipeCheck, RipeCheckId, Rounds, RoundsId, Sample,
    SampleId, Scenario, ScenarioId, Settings, Spray, SprayId, Standard, StandardId, Survey, SurveyId, TestResult, Tramlines,
    TramlinesId, Walked, WalkedId, by_name,
};

/// Any one record.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", content = "record", rename_all = "snake_case")]
#[allow(missing_docs, clippy::large_enum_variant)]
pub enum Record {
    Farm(Farm),
    Field(Field),
    Gate(Gate),
    NoGo(NoGo),
    Tramlines(Tramlines),
    Survey(Survey),
    Plan(Plan),
    Sample(Sample),
    Assay(Assay),
    Standard(Standard),
    Result(TestResult),
    Crop(Crop),
    Spray(Spray),
    DueMark(DueMark),
    RipeCheck(RipeCheck),
    Rounds(Rounds),
    Walked(Walked),
    Programme(Programme),
    FieldProgramme(FieldProgramme),
    Scenario(Scenario),
    Settings(Settings),
}

/// All records, each kind in the order in which they were made. Copying is cheap: the records are shared.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Records {
    /// Farms.
    pub farms: BTreeMap<FarmId, Arc<Farm>>,
    /// Fields of all years.
    pub fields: BTreeMap<FieldId, Arc<Field>>,
    /// Gates.
    pub gates: BTreeMap<GateId, Arc<Gate>>,
    /// No-go areas.
    pub no_go: BTreeMap<NoGoId, Arc<NoGo>>,
    /// Tramlines.
    pub tramlines: BTreeMap<TramlinesId, Arc<Tramlines>>,
    /// Scouting surveys.
    pub surveys: BTreeMap<SurveyId, Arc<Survey>>,
    /// Plans.
    pub plans: BTreeMap<PlanId, Arc<Plan>>,
    /// Samples.
    pub samples: BTreeMap<SampleId, Arc<Sample>>,
    /// Assays.
    pub assays: BTreeMap<AssayId, Arc<Assay>>,
    /// Standards of the assays.
    pub standards: BTreeMap<StandardId, Arc<Standard>>,
    /// Test results.
    pub results: BTreeMap<ResultId, Arc<TestResult>>,
    /// Crops.
    pub crops: BTreeMap<CropId, Arc<Crop>>,
    /// Sprays.
    pub sprays: BTreeMap<SprayId, Arc<Spray>>,
    /// Fields pinned or vetoed.
    pub due_marks: BTreeMap<DueMarkId, Arc<DueMark>>,
    /// Looks at how ripe seed is.
    pub ripe_checks: BTreeMap<RipeCheckId, Arc<RipeCheck>>,
    /// Rounds over the farms.
    pub rounds: BTreeMap<RoundsId, Arc<Rounds>>,
    /// Walks as they were walked.
    pub walked: BTreeMap<WalkedId, Arc<Walked>>,
    /// Spray programmes.
    pub programmes: BTreeMap<ProgrammeId, Arc<Programme>>,
    /// What is planned in each field and harvest year.
    pub field_programmes: BTreeMap<FieldProgrammeId, Arc<FieldProgramme>>,
    /// Scenarios of the coming years.
    pub scenarios: BTreeMap<ScenarioId, Arc<Scenario>>,
    /// Settings.
    pub settings: Settings,
}

macro_rules! each_kind {
    ($apply:ident) => {
        $apply! {
            Farm => farms: FarmId,
            Field => fields: FieldId,
            Gate => gates: GateId,
            NoGo => no_go: NoGoId,
            Tramlines => tramlines: TramlinesId,
            Survey => surveys: SurveyId,
            Plan => plans: PlanId,
            Sample => samples: SampleId,
            Assay => assays: AssayId,
            Standard => standards: StandardId,
            Result => results: ResultId,
            Crop => crops: CropId,
            Spray => sprays: SprayId,
            DueMark => due_marks: DueMarkId,
            RipeCheck => ripe_checks: RipeCheckId,
            Rounds => rounds: RoundsId,
            Walked => walked: WalkedId,
            Programme => programmes: ProgrammeId,
            FieldProgramme => field_programmes: FieldProgrammeId,
            Scenario => scenarios: ScenarioId,
        }
    };
}

macro_rules! store_record {
    ($($kind:ident => $map:ident: $id:ident,)*) => {
        impl Record {
            /// The record's identifier; [`Uuid::nil`] for the settings, of which there is one.
            pub fn id(&self) -> Uuid {
                match self {
                    $(Self::$kind(record) => record.id.0,)*
                    Self::Settings(_) => Uuid::nil(),
                }
            }
        }

        impl Records {
            /// Puts a record in, replacing the one with the same identifier.
            pub fn put(&mut self, record: Record) {
                match record {
                    $(Record::$kind(record) => {
                        self.$map.insert(record.id, Arc::new(record));
                    })*
                    Record::Settings(settings) => self.settings = settings,
                }
            }

            /// Takes a record out; settings go back to their defaults.
            pub fn remove(&mut self, record: &Record) {
                match record {
                    $(Record::$kind(record) => {
                        self.$map.remove(&record.id);
                    })*
                    Record::Settings(_) => self.settings = Settings::default(),
                }
            }

            /// The stored record of the same kind and identifier, if there is one.
            pub fn current(&self, record: &Record) -> Option<Record> {
                match record {
                    $(Record::$kind(record) => self.$map.get(&record.id).map(|found| Record::$kind((**found).clone())),)*
                    Record::Settings(_) => Some(Record::Settings(self.settings.clone())),
                }
            }

            /// Every record, farms first, so that each comes after those it refers to.
            pub fn iter(&self) -> impl Iterator<Item = Record> + '_ {
                std::iter::once(Record::Settings(self.settings.clone()))
                    $(.chain(self.$map.values().map(|record| Record::$kind((**record).clone()))))*
            }
        }
    };
}
each_kind!(store_record);

impl Records {
    /// The fields of a harvest year with the name and shape they had then, by farm and name. To read from: what is to be
    /// changed is the record in [`fields`](Self::fields).
    pub fn fields_in(&self, year: i32) -> Vec<Arc<Field>> {
        let then = |field: &Arc<Field>| match field.former_in(year) {
            None => field.clone(),
            Some(former) => {
                Arc::new(Field { name: former.name.clone(), boundary: former.boundary.clone(), ..(**field).clone() })
            }
        };
        let mut fields: Vec<_> = self.fields.values().filter(|field| field.exists_in(year)).map(then).collect();
        fields.sort_by(|a, b| {
            let farms = by_name(self.farm_name(a), self.farm_name(b));
            farms.then_with(|| by_name(&a.name, &b.name)).then(a.id.cmp(&b.id))
        });
        fields
    }

    /// The name of a field's farm; empty if the farm is missing.
    pub fn farm_name(&self, field: &Field) -> &str {
        self.farms.get(&field.farm).map_or("", |farm| farm.name.as_str())
    }

    /// The farm of a name, letter case ignored.
    pub fn farm_named(&self, name: &str) -> Option<&Arc<Farm>> {
        self.farms.values().find(|farm| same_name(&farm.name, name))
    }

    /// The fields of a name in a harvest year, by the name they have or had then, letter case ignored; `"farm/field"` names the farm too.
    pub fn fields_named(&self, name: &str, year: Option<i32>) -> Vec<Arc<Field>> {
        let called =
            |field: &Field, own: &str| same_name(own, name) || same_name(&format!("{}/{own}", self.farm_name(field)), name);
        let fits = |field: &&Arc<Field>| match year {
            None => called(field, &field.name),
            Some(year) => {
                let then = field.former_in(year).map_or(field.name.as_str(), |former| former.name.as_str());
                field.exists_in(year) && (called(field, &field.name) || called(field, then))
            }
        };
        self.fields.values().filter(fits).cloned().collect()
    }

    /// Gates of a field.
    pub fn gates_of(&self, field: FieldId) -> impl Iterator<Item = &Arc<Gate>> {
        self.gates.values().filter(move |gate| gate.field == field)
    }

    /// No-go areas of a field.
    pub fn no_go_of(&self, field: FieldId) -> impl Iterator<Item = &Arc<NoGo>> {
        self.no_go.values().filter(move |area| area.field == field)
    }

    /// The sets of tramlines of a field, the first made first.
    pub fn tramlines_of(&self, field: FieldId) -> impl Iterator<Item = &Arc<Tramlines>> {
        self.tramlines.values().filter(move |lines| lines.field == field)
    }

    /// The plan in use of a field for a harvest year: the newest that is not set aside.
    pub fn plan_of(&self, field: FieldId, year: i32) -> Option<&Arc<Plan>> {
        self.plans.values().rev().find(|plan| plan.field == field && plan.year == year && !plan.set_aside)
    }

    /// Plans of a field and harvest year that are kept to compare with, the first made first.
    pub fn plans_aside(&self, field: FieldId, year: i32) -> impl Iterator<Item = &Arc<Plan>> {
        self.plans.values().filter(move |plan| plan.field == field && plan.year == year && plan.set_aside)
    }

    /// Whether a field is pinned or vetoed for a harvest year: the newest mark counts.
    pub fn due_mark(&self, field: FieldId, year: i32) -> Option<&Arc<DueMark>> {
        self.due_marks.values().rev().find(|mark| mark.field == field && mark.year == year)
    }

    /// The rounds of a harvest year: the newest.
    pub fn rounds_of(&self, year: i32) -> Option<&Arc<Rounds>> {
        self.rounds.values().rev().find(|rounds| rounds.year == year)
    }

    /// Looks at how ripe seed is in a harvest year, by day.
    pub fn ripe_checks_in(&self, year: i32) -> Vec<&Arc<RipeCheck>> {
        let mut list: Vec<_> = self.ripe_checks.values().filter(|check| i32::from(check.date.year()) == year).collect();
        list.sort_by_key(|check| (check.date, check.id));
        list
    }

    /// The programme of a name, letter case ignored.
    pub fn programme_named(&self, name: &str) -> Option<&Arc<Programme>> {
        self.programmes.values().find(|programme| same_name(&programme.name, name))
    }

    /// What is planned against grass weeds in a field for a harvest.
    pub fn field_programme(&self, field: FieldId, year: i32) -> Option<&Arc<FieldProgramme>> {
        self.field_programmes.values().find(|planned| planned.field == field && planned.year == year)
    }

    /// The sample of a code, letter case ignored.
    pub fn sample_coded(&self, code: &str) -> Option<&Arc<Sample>> {
        self.samples.values().find(|sample| same_name(&sample.code, code))
    }

    /// Samples of a harvest year, by code.
    pub fn samples_in(&self, year: i32) -> Vec<&Arc<Sample>> {
        let mut list: Vec<_> = self.samples.values().filter(|sample| sample.year == year).collect();
        list.sort_by(|a, b| a.code.cmp(&b.code));
        list
    }

    /// Walks as they were walked in a field and harvest year, the first recorded first.
    pub fn walked_in(&self, field: FieldId, year: i32) -> impl Iterator<Item = &Arc<Walked>> {
        self.walked.values().filter(move |walked| walked.field == field && walked.year == year)
    }

    /// Every field's boundary with its identifier.
    pub fn boundaries(&self) -> impl Iterator<Item = (FieldId, &MultiPolygon<f64>)> {
        self.fields.values().map(|field| (field.id, &field.boundary))
    }

    /// The latest harvest year that any record speaks of.
    pub fn latest_year(&self) -> Option<i32> {
        let samples = self.samples.values().map(|sample| sample.year);
        let plans = self.plans.values().map(|plan| plan.year);
        let crops = self.crops.values().map(|crop| crop.year);
        let surveys = self.surveys.values().map(|survey| survey.harvest_year());
        samples.chain(plans).chain(crops).chain(surveys).max()
    }
}

/// Whether two names are the same to a person: letter case and spaces at the ends ignored.
pub fn same_name(a: &str, b: &str) -> bool {
    a.trim().to_lowercase() == b.trim().to_lowercase()
}
