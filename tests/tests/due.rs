//! The due list: every reason from records that show it, budgets, pins, and the file that keeps them.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // stopping with a sentence is the answer here

use awn_core::crs::LocalPlane;
use awn_core::model::{
    Assay, AssayKind, DensityUnit, DueMark, DueMarkId, DueRule, DueSign, Farm, FarmId, Field, FieldId, Mark, Record,
    Records, RipeCheck, RipeCheckId, RoundSettings, Rounds, RoundsId, Sample, ScoutPoint, Spray, SprayId, Survey, SurveyId,
    SurveyKind, TestResult, Visit, mode_of_action,
};
use awn_core::project::{Edit, Project};
use awn_core::season::{Budget, Due, due, spend};
use awn_tests::program::awn;
use geo::{Coord, LineString, MultiPolygon, Polygon};
use jiff::civil::date;
use serde_json::json;

const YEAR: i32 = 2027;

/// Square fields of 200 m in a row with a gap of so many metres between them.
struct Land {
    records: Records,
    fields: Vec<FieldId>,
    plane: LocalPlane,
}

impl Land {
    fn new(count: usize, gap: f64) -> Self {
        let plane = LocalPlane::at(Coord { x: -0.2, y: 52.3 }).unwrap();
        let mut records = Records::default();
        let farm = Farm { id: FarmId::new(), business: String::new(), name: "Sallowby".into() };
        let fields = (0..count)
            .map(|number| {
                let west = number as f64 * (200.0 + gap);
                let ring = [(0.0, 0.0), (200.0, 0.0), (200.0, 200.0), (0.0, 200.0), (0.0, 0.0)];
                let ring: LineString<f64> = ring.iter().map(|(x, y)| Coord { x: west + x, y: *y }).collect();
                let shape = MultiPolygon(vec![Polygon::new(ring, vec![])]);
                let field = Field::new(farm.id, format!("Field {number}"), plane.to_degrees(&shape));
                let id = field.id;
                records.put(Record::Field(field));
                id
            })
            .collect();
        records.put(Record::Farm(farm));
        Self { records, fields, plane }
    }

    /// Counts at four places of a field.
    fn scouted(&mut self, field: usize, year: i16, heads: [f64; 4]) {
        let west = field as f64 * 200.0;
        let points = heads.iter().enumerate().map(|(at, value)| ScoutPoint {
            position: self.plane.degrees(Coord { x: west + 40.0 * (at as f64 + 1.0), y: 100.0 }),
            value: *value,
        });
        self.records.put(Record::Survey(Survey {
            id: SurveyId::new(),
            date: date(year, 6, 12),
            kind: SurveyKind::Points,
            unit: DensityUnit::HeadsPerM2,
            source: "walked".into(),
            points: points.collect(),
            zones: vec![],
            rasters: vec![],
        }));
    }

    fn tested(&mut self, field: usize, year: i32, reduction: f64) {
        let assay = Assay::of(AssayKind::Pot, year, "");
        let sample = Sample::new(format!("{year}-{field}-{reduction}"), self.fields[field], year);
        let result = TestResult::printed(sample.id, assay.id, "mesosulfuron+iodosulfuron", "2", reduction, Some(90.0));
        for record in [Record::Assay(assay), Record::Sample(sample), Record::Result(result)] {
            self.records.put(record);
        }
    }

    fn sprayed(&mut self, field: usize, year: i32, active: &str, effect: &str) {
        self.records.put(Record::Spray(Spray {
            id: SprayId::new(),
            field: self.fields[field],
            year,
            date: None,
            active: active.into(),
            group: mode_of_action(active).unwrap().group.into(),
            dose_g_per_ha: None,
            effect: effect.into(),
            growth_stage: String::new(),
            cost_per_ha: None,
        }));
    }

    fn due(&self, field: usize) -> Due {
        due(&self.records, YEAR).into_iter().find(|due| due.field == self.fields[field]).unwrap()
    }

    fn points(&self, field: usize, sign: DueSign) -> f64 {
        self.due(field).parts.iter().filter(|part| part.sign == sign).map(|part| part.points).sum()
    }
}

fn says(due: &Due, words: &str) -> bool {
    due.reasons.iter().any(|reason| reason.contains(words))
}

#[test]
fn never_tested_and_infested_comes_before_never_looked_at() {
    let mut land = Land::new(3, 0.0);
    land.scouted(0, 2026, [3.0, 0.0, 9.0, 0.0]);
    land.scouted(2, 2026, [0.0; 4]);
    let (infested, unknown, clean) = (land.due(0), land.due(1), land.due(2));
    assert!(infested.due && unknown.due && !clean.due);
    assert!((infested.score, unknown.score, clean.score) == (50.0, 30.0, 0.0));
    assert!(says(&infested, "Never tested.") && says(&unknown, "Not scouted.") && says(&clean, "found none"));
}

#[test]
fn failed_control_makes_a_field_due_at_once_and_only_since_its_test() {
    let mut land = Land::new(2, 0.0);
    land.tested(0, 2026, 85.0);
    land.tested(1, 2026, 85.0);
    assert!(!land.due(0).due);
    land.sprayed(0, 2027, "mesosulfuron+iodosulfuron", "poor control in the hollow");
    land.sprayed(1, 2026, "mesosulfuron+iodosulfuron", "poor control in the hollow");
    let (failed, before) = (land.due(0), land.due(1));
    assert!(
        failed.due && says(&failed, "Control failed in 2027") && says(&failed, "here 1 for the reasons below"),
        "{failed:?}"
    );
    assert_eq!((land.points(0, DueSign::Failed), land.points(1, DueSign::Failed)), (25.0, 0.0));
    assert!(!before.due, "the test of that harvest has seen it");
}

#[test]
fn an_early_sign_brings_the_next_test_forward() {
    let mut land = Land::new(2, 0.0);
    // 77 beside 90: R? (0.86 of the standard); 88: S.
    land.tested(0, 2024, 77.0);
    land.tested(1, 2024, 88.0);
    assert!(land.due(0).due && says(&land.due(0), "Worst rating then: R?."));
    assert!(!land.due(1).due && says(&land.due(1), "due again in 2029"));
    land.records.settings.retest_interval_years = 3;
    assert!(land.due(1).due);
}

#[test]
fn the_same_mode_of_action_three_years_running() {
    let mut land = Land::new(2, 0.0);
    for year in [2024, 2025, 2026] {
        land.sprayed(0, year, "mesosulfuron+iodosulfuron", "");
    }
    for year in [2023, 2024, 2026] {
        land.sprayed(1, year, "mesosulfuron+iodosulfuron", "");
    }
    assert!(says(&land.due(0), "HRAC 2 (ALS) was used 3 harvests running, to 2026"), "{:?}", land.due(0));
    assert_eq!((land.points(0, DueSign::Repeated), land.points(1, DueSign::Repeated)), (10.0, 0.0));
    land.records.settings.due.repeat_groups = vec!["15".into()];
    assert_eq!(land.points(0, DueSign::Repeated), 0.0);
}

#[test]
fn rising_density_counts_by_its_doublings() {
    let mut land = Land::new(1, 0.0);
    land.scouted(0, 2025, [2.0, 0.0, 2.0, 0.0]);
    land.scouted(0, 2026, [4.0, 0.0, 4.0, 0.0]);
    // Means 1 and 2: one doubling of the two that give all points.
    assert!((land.points(0, DueSign::Rising) - 7.5).abs() < 1e-9);
    assert!(says(&land.due(0), "Density rose from 1.0 to 2.0 heads/m2 between 12 June 2025 and 12 June 2026."));
    land.records.settings.due.rise_factor = 3.0;
    assert_eq!(land.points(0, DueSign::Rising), 0.0);
}

#[test]
fn a_neighbour_that_got_worse_counts_for_those_next_to_it() {
    for (gap, touched) in [(10.0, true), (40.0, false)] {
        let mut land = Land::new(3, gap);
        land.tested(0, 2020, 88.0);
        land.tested(0, 2026, 50.0);
        land.tested(1, 2024, 88.0);
        assert_eq!(land.points(1, DueSign::Neighbour) > 0.0, touched, "gap {gap} m");
        assert_eq!(land.points(2, DueSign::Neighbour), 0.0, "one field further");
        assert_eq!(says(&land.due(1), "Field 0, next to it, went from S to RR in 2026"), touched);
    }
}

#[test]
fn the_score_is_the_sum_of_its_parts_and_rules_can_be_changed_and_reset() {
    let mut land = Land::new(1, 0.0);
    land.scouted(0, 2025, [1.0; 4]);
    land.scouted(0, 2026, [4.0; 4]);
    land.sprayed(0, 2026, "mesosulfuron+iodosulfuron", "survivors");
    let usual = land.due(0);
    assert_eq!(usual.score, usual.parts.iter().map(|part| part.points).sum::<f64>());
    assert_eq!(usual.score, 50.0 + 15.0 + 25.0);
    land.records.settings.due.set(DueSign::Failed, DueRule { on: true, points: 5.0, sooner: 0 });
    assert_eq!(land.due(0).score, 50.0 + 15.0 + 5.0);
    land.records.settings.due = land.records.settings.due.reset();
    assert_eq!(land.due(0), usual);
}

#[test]
fn a_budget_leaves_out_and_says_what_that_costs() {
    let mut land = Land::new(4, 0.0);
    land.scouted(1, 2026, [3.0; 4]);
    land.scouted(0, 2026, [9.0; 4]);
    land.tested(2, 2019, 88.0);
    land.tested(3, 2021, 88.0);
    let list = due(&land.records, YEAR);
    let spent = spend(&land.records, &list, Budget { samples: None, money: Some(250.0), price: 100.0 }).unwrap();
    assert_eq!((spent.most, spent.samples, spent.cost), (Some(2), 2, Some(200.0)));
    // Both never tested and infested; of equals the field with more of the weed comes first.
    assert_eq!(spent.fields, [land.fields[0], land.fields[1]]);
    let left = &spent.left;
    assert_eq!((left.fields.as_slice(), left.never_tested, left.years), (&land.fields[2..], 0, 8 + 6));
    assert_eq!(left.words, "Left out: 2 fields, 8.00 ha. They go on with knowledge 7.0 harvests old on average.");
}

#[test]
fn pins_are_paid_for_first_and_vetoes_never() {
    let mut land = Land::new(4, 0.0);
    for field in 0..4 {
        land.scouted(field, 2026, [field as f64 + 1.0; 4]);
    }
    land.tested(3, 2026, 88.0);
    let mark = |field: usize, mark: Mark| {
        Record::DueMark(DueMark { id: DueMarkId::new(), field: land.fields[field], year: YEAR, mark, reason: String::new() })
    };
    let (pin, veto) = (mark(3, Mark::Pinned), mark(0, Mark::Vetoed));
    land.records.put(pin);
    land.records.put(veto);
    let list = due(&land.records, YEAR);
    assert_eq!(list[0].field, land.fields[3]);
    let spent = spend(&land.records, &list, Budget { samples: Some(2), ..Budget::default() }).unwrap();
    assert_eq!(spent.fields, [land.fields[3], land.fields[2]]);
    assert_eq!((spent.left.fields.as_slice(), spent.left.never_tested), ([land.fields[1]].as_slice(), 1));
    // Heads: 1 + 2 + 3 + 4 on squares of one size, 2 of them left out.
    assert!((spent.left.population[0].1 - 0.2).abs() < 1e-4, "{:?}", spent.left.population);
    assert!((spent.left.area_m2 - 40_000.0).abs() < 40.0);
    assert_eq!(
        spent.left.words,
        "Left out: 1 field, 4.00 ha. They stay unknown: never tested. 20 % of all heads that scouting counted stand in them."
    );
    let none = spend(&land.records, &list, Budget { samples: Some(0), ..Budget::default() }).unwrap();
    assert!(none.note.unwrap().contains("1 pinned field"));
    assert!(due(&land.records, YEAR - 1).iter().all(|due| due.mark.is_none()), "marks are of one harvest");
}

#[test]
fn an_older_file_takes_the_new_records_and_keeps_them() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("farm.gpkg");
    let sql = std::fs::read_to_string(awn_tests::project_path("tests/data/version-2.sql")).unwrap();
    rusqlite::Connection::open(&path).unwrap().execute_batch(&sql).unwrap();
    let mut project = Project::open(&path).unwrap();
    let before = project.records().clone();
    let field = *before.fields.keys().next().unwrap();
    let mut edit = Edit::new(&before, "A season");
    edit.put(Record::DueMark(DueMark { id: DueMarkId::new(), field, year: 2027, mark: Mark::Vetoed, reason: "let".into() }));
    let species = "ALOMY".to_owned();
    let check =
        RipeCheck { id: RipeCheckId::new(), field, date: date(2027, 7, 9), species, shed_percent: 12.5, who: "J".into() };
    edit.put(Record::RipeCheck(check));
    let gate = Coord { x: -0.2, y: 52.3 };
    let visit =
        |number, km| Visit { field, date: date(2027, 7, 12), car: 1, number, gate, km, arrive_min: 0.1 + km, minutes: 41.3 };
    let rounds = Rounds {
        id: RoundsId::new(),
        year: 2027,
        settings: RoundSettings { base: gate, ..RoundSettings::default() },
        visits: vec![visit(1, 12.345_678_9), visit(2, 0.1 + 0.2)],
        left_out: vec![],
    };
    edit.put(Record::Rounds(rounds));
    project.apply(edit.done()).unwrap();
    let after = project.records().clone();
    drop(project);
    let mut project = Project::open(&path).unwrap();
    assert_eq!(**project.records(), *after);
    let seen = awn_tests::reference::run("geopackage", &json!({ "path": path }));
    assert_eq!(seen["errors"], json!([]), "the GeoPackage validator of PyPI gdal-utils");
    project.undo().unwrap();
    assert_eq!(**project.records(), *before);
}

#[test]
fn the_command_line_pins_budgets_and_changes_rules() {
    let folder = tempfile::tempdir().unwrap();
    let path = awn::demo::write_sample_farm(folder.path(), &awn_core::progress::Quiet).unwrap();
    let ask = |more: &[&str]| {
        let fixed = ["due", path.to_str().unwrap(), "--year", "2027", "--json"];
        awn(fixed.iter().copied().chain(more.iter().copied()))
    };
    let all = ask(&[]).json();
    let fields = all["fields"].as_array().unwrap();
    let total = fields.iter().filter(|field| field["due"] == true).count();
    for field in fields {
        let parts: f64 = field["parts"].as_array().unwrap().iter().map(|part| part["points"].as_f64().unwrap()).sum();
        assert!((parts - field["score"].as_f64().unwrap()).abs() < 1e-9, "{field}");
    }
    let few = ask(&["--money", "1000", "--price", "240"]).json();
    let inside = few["fields"].as_array().unwrap().iter().filter(|field| field["within_budget"] == true).count();
    assert_eq!((inside, few["budget"]["most_samples"].as_u64()), (4, Some(4)));
    assert_eq!(few["left_out"]["fields"].as_array().unwrap().len(), total - 4);
    assert_eq!(ask(&["--money", "1000"]).code, 2, "money needs a price");
    let last = fields.last().unwrap();
    let name = format!("{}/{}", last["farm"].as_str().unwrap(), last["field"].as_str().unwrap());
    let pinned = ask(&["--pin", &name, "--reason", "new tenant", "--budget", "1"]).json();
    let own = pinned["fields"].as_array().unwrap().iter().find(|field| field["field_id"] == last["field_id"]).unwrap();
    assert!(own["mark"] == "pinned" && own["due"] == true && own["rank"].as_u64() <= Some(2), "{own}");
    assert!(own["reasons"][0].as_str().unwrap().contains("new tenant"));
    assert!(pinned["budget"]["note"].as_str().unwrap().contains("1 pinned field"), "two pins, one sample");
    let released = ask(&["--release", &name]).json();
    assert_eq!(released["fields"], all["fields"]);
    let changed = ask(&["--rule", "never=0", "--rule", "age=90,0", "--rule", "failed=off"]).json();
    assert_ne!(changed["fields"], all["fields"]);
    assert_eq!(ask(&["--usual-rules"]).json()["fields"], all["fields"]);
    assert_eq!(ask(&["--rule", "luck=5"]).code, 2);
    assert_eq!(ask(&["--interval", "0"]).code, 2);
    let limits = ["--repeat-years", "2", "--repeat-groups", "15, 3", "--rise", "2", "--neighbours", "0"];
    let limited = ask(&limits).json();
    let told = json!({ "repeat_years": 2, "repeat_groups": ["15", "3"], "rise": 2.0, "neighbours_m": 0.0 });
    assert_eq!(limited["limits"], told);
    for (wrong, hint) in
        [(["--repeat-groups", "99"], "use "), (["--rise", "0.5"], "1 to 100"), (["--repeat-years", "1"], "2 to 10")]
    {
        let refused = ask(&wrong);
        assert!(refused.code == 2 && refused.err.contains(hint), "{refused:?}");
    }
    assert_eq!(ask(&["--usual-rules"]).json()["limits"], all["limits"]);
}
