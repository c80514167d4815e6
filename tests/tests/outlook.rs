//! The coming years and patches as a user asks for them: scenarios read in, costs set, outlooks, patches for a sprayer.

#![allow(clippy::unwrap_used)] // stopping is the answer of a test

use std::path::{Path, PathBuf};
use std::sync::Mutex;

use awn_core::act::outlook::{self, Ask, GivenStart, OutlookError};
use awn_core::model::{Cultivation, LowLikelyHigh, Record, Scenario, ScenarioId, ScenarioYear};
use awn_core::problem::Problems;
use awn_core::progress::Progress;
use awn_core::project::{Edit, Project};
use awn_tests::program::awn;
use serde_json::{Value, json};

const SCENARIOS: &str = "scenario,crop,cultivation,drilled,control_low,control_likely,control_high,heads_removed,crop_plants_m2,competitive,cost_per_ha
As now,winter wheat,deep,09-20,80,92,97,,,,130
,winter oilseed rape,deep,2026-08-20,88,96,99,,,no,118
Spring,spring barley,plough,03-12,60,80,92,,,,62
Spring,winter wheat,shallow,10-14,82,93,97,20,300,yes,132
";

/// The sample farm, with few draws, which are enough for what is looked at here.
fn farm(folder: &Path) -> PathBuf {
    let path = awn::demo::write_sample_farm(folder, &awn_core::progress::Quiet).unwrap();
    assert_eq!(awn(["costs", &text(&path), "--draws", "100"]).code, 0);
    path
}

fn text(path: &Path) -> String {
    path.to_string_lossy().into_owned()
}

/// The field with the most heads/m2 among those with a density, by an outlook of all.
fn worst(project: &str) -> (String, Value) {
    let seen = awn(["outlook", project, "--year", "2027", "--all", "--years", "1", "--scenario", "As now", "--json"]);
    let json = seen.json();
    let heads = |field: &Value| field["start"]["heads_per_m2"]["median"].as_f64().unwrap();
    let fields = json["fields"].as_array().unwrap();
    let worst = fields.iter().max_by(|a, b| heads(a).total_cmp(&heads(b))).unwrap();
    let name = format!("{}/{}", worst["farm"].as_str().unwrap(), worst["field"].as_str().unwrap());
    (name, json)
}

#[test]
fn scenarios_are_read_replaced_listed_and_taken_out() {
    let folder = tempfile::tempdir().unwrap();
    let project = text(&folder.path().join("p.gpkg"));
    let file = folder.path().join("scenarios.csv");
    std::fs::write(&file, SCENARIOS).unwrap();
    assert_eq!(awn(["new", &project]).code, 0);
    let added = awn(["add", "scenarios", &project, &text(&file), "--json"]);
    assert_eq!((added.code, added.json()["added"].clone()), (0, json!(2)), "{added:?}");
    let again = awn(["add", "scenarios", &project, &text(&file), "--json"]).json();
    assert_eq!((again["added"].clone(), again["updated"].clone()), (json!(0), json!(2)));
    let listed = awn(["scenarios", &project, "--json"]).json();
    let year = &listed["scenarios"][1]["years"][1];
    assert_eq!(year["control"], json!({ "low": 82.0, "likely": 93.0, "high": 97.0 }));
    assert_eq!((year["heads_removed"]["likely"].clone(), year["competitive"].clone()), (json!(20.0), json!(true)));
    assert_eq!(listed["scenarios"][0]["years"][1]["drilled"], json!("08-20"));
    let left = awn(["scenarios", &project, "--remove", "as now", "--json"]).json();
    assert_eq!(left["scenarios"].as_array().unwrap().len(), 1);
    assert_eq!(awn(["scenarios", &project, "--remove", "as now"]).code, 2);
}

#[test]
fn a_faulty_file_of_scenarios_changes_nothing_and_says_where() {
    let folder = tempfile::tempdir().unwrap();
    let project = text(&folder.path().join("p.gpkg"));
    awn(["new", &project]);
    let file = folder.path().join("scenarios.csv");
    std::fs::write(
        &file,
        "scenario,crop,cultivation,drilled,control,cost_per_ha\n\
         A,winter wheat,rotary,09-20,92,130\nA,winter wheat,deep,09-20,,130\nA,winter wheat,deep,09-20,ninety,130\n",
    )
    .unwrap();
    let seen = awn(["add", "scenarios", &project, &text(&file), "--json"]);
    let said: Vec<String> =
        seen.problems().iter().map(|problem| format!("{} {}", problem["where"], problem["what"])).collect();
    assert_eq!(seen.code, 1);
    assert!(said[0].contains("row 2") && said[0].contains("rotary"), "{said:?}");
    assert!(said[1].contains("row 3") && said[1].contains("no control"), "{said:?}");
    assert!(said[2].contains("row 4") && said[2].contains("ninety"), "{said:?}");
    std::fs::write(&file, "scenario,crop,drilled,control,cost_per_ha\nA,winter wheat,05-20,101,-4\nA,fallow,,,\n").unwrap();
    let seen = awn(["add", "scenarios", &project, &text(&file), "--json"]);
    let said: Vec<String> = seen.problems().iter().map(|problem| problem["what"].to_string()).collect();
    for expected in ["control is 101 %", "no amount of money", "winter wheat is not drilled on 20 May"] {
        assert!(said.iter().any(|said| said.contains(expected)), "{expected}: {said:?}");
    }
    assert_eq!(awn(["scenarios", &project, "--json"]).json()["scenarios"], json!([]));
    std::fs::write(&file, "").unwrap();
    assert_eq!(awn(["add", "scenarios", &project, &text(&file)]).code, 1);
}

#[test]
fn gaps_between_years_and_what_is_taken_unsaid_are_named() {
    let folder = tempfile::tempdir().unwrap();
    let project = text(&folder.path().join("p.gpkg"));
    awn(["new", &project]);
    let file = folder.path().join("scenarios.csv");
    let read = |rows: &str| {
        std::fs::write(&file, format!("scenario,year,crop,drilled,control,weather\n{rows}")).unwrap();
        let seen = awn(["add", "scenarios", &project, &text(&file), "--json"]);
        let said: Vec<String> = seen
            .problems()
            .iter()
            .map(|problem| format!("{} {} {}", problem["where"], problem["what"], problem["hint"]))
            .collect();
        (seen.code, said.join("\n"))
    };
    for (rows, expected) in [
        ("A,2027,winter wheat,10-01,90,\nA,2029,fallow,,,\n", "harvest 2029 follows 2027: 2028 is missing."),
        ("A,1,winter wheat,10-01,90,\nA,5,fallow,,,\n", "harvest 5 follows 1: 2 to 4 are missing."),
        ("A,2028,winter wheat,10-01,90,\nA,2027,fallow,,,\n", "harvest 2027 follows 2028."),
        ("A,2028,winter wheat,10-01,90,\nA,,fallow,,,\n", "is no harvest year."),
        ("A,2027,winter heat,10-01,90,\n", "is no crop that outlooks know"),
    ] {
        let (code, said) = read(rows);
        assert!(code == 1 && said.contains(expected), "{expected}: {code} {said}");
    }
    assert_eq!(awn(["scenarios", &project, "--json"]).json()["scenarios"], json!([]));
    // A second scenario begins to count anew; what is not read and what is taken are said.
    let (code, said) = read("A,2027,winter wheat,10-01,90,wet\nA,2028,grass ley,,,\nB,2027,fallow,,,\n");
    assert_eq!(code, 0, "{said}");
    for expected in [
        "“weather” is not read",
        "3 crop years have no cultivation: deep non-inversion (20 cm) is taken",
        "order of the crops only",
    ] {
        assert!(said.contains(expected), "{expected}: {said}");
    }
    let kept = awn(["scenarios", &project, "--json"]).json();
    let cultivations: Vec<&Value> =
        kept["scenarios"][0]["years"].as_array().unwrap().iter().map(|year| &year["cultivation"]).collect();
    assert_eq!(cultivations, ["deep", "direct_drill"]);
}

#[test]
fn a_field_starts_from_a_class_when_it_was_not_scouted() {
    let folder = tempfile::tempdir().unwrap();
    let project = text(&farm(folder.path()));
    let (name, _) = worst(&project);
    let at = |start: &str| {
        let arguments =
            ["outlook", &project, "--year", "2027", "--field", &name, "--scenario", "As now", "--json", "--start", start];
        awn(arguments)
    };
    // Published limits of a high density are 451 to 1450 plants on 400 m2; the middle stands for them.
    let high = at("high").json();
    let mean = high["fields"][0]["start"]["mean"].as_f64().unwrap();
    assert!((mean - f64::midpoint(450.0, 1450.0) / 400.0).abs() < 1e-9, "{mean}");
    assert_eq!(high["fields"][0]["start"]["unit"], json!("plants/m2"));
    let heads = |answer: &Value| answer["fields"][0]["start"]["heads_per_m2"]["median"].as_f64().unwrap();
    let starts = ["absent", "low", "medium", "very high", "very-high"].map(|class| heads(&at(class).json()));
    assert!(starts[0] == 0.0 && starts.windows(2).all(|pair| pair[0] <= pair[1]) && starts[3] == starts[4], "{starts:?}");
    let wrong = at("plenty");
    assert!(wrong.code == 2 && wrong.err.contains("neither a number of heads a m2 nor a density class"), "{wrong:?}");
    let below = at("-4");
    assert!(below.code != 0 && below.err.contains("-4 is no number of heads"), "{below:?}");
}

#[test]
fn scenarios_stand_beside_each_other_over_all_harvests_and_all_fields() {
    let folder = tempfile::tempdir().unwrap();
    let project = text(&farm(folder.path()));
    let (name, _) = worst(&project);
    let json = awn(["outlook", &project, "--year", "2027", "--field", &name, "--json"]).json();
    let field = &json["fields"][0];
    for scenario in field["scenarios"].as_array().unwrap() {
        let (mean, years) = (&scenario["mean_year"], scenario["years"].as_array().unwrap());
        let of = |value: &Value| value.as_f64().unwrap();
        let cost = years.iter().map(|year| of(&year["money_per_ha"]["cost"])).sum::<f64>() / years.len() as f64;
        assert!((of(&mean["money_per_ha"]["cost"]) - cost).abs() < 1e-9, "{mean}");
        let value = years.iter().map(|year| of(&year["money_per_ha"]["value"])).sum::<f64>() / years.len() as f64;
        let left = value - cost - of(&mean["money_per_ha"]["lost"]["median"]);
        assert!((of(&mean["money_per_ha"]["left"]["median"]) - left).abs() < 1e-6, "{mean}");
        // Means over harvests are less spread than harvests: within the mean of their bands.
        let ends = |which: &str| {
            years.iter().map(|year| of(&year["money_per_ha"]["lost_to_weed"][which])).sum::<f64>() / years.len() as f64
        };
        assert!(of(&mean["money_per_ha"]["lost_to_weed"]["low"]) >= ends("low") * 0.999, "{mean}");
        assert!(field["sentences"].to_string().contains(scenario["name"].as_str().unwrap()));
    }
    let all = awn(["outlook", &project, "--year", "2027", "--all", "--json"]);
    let json = all.json();
    let (mut area, mut heads) = (0.0, 0.0);
    let known = awn(["fields", &project, "--year", "2027", "--json"]).json();
    for one in json["fields"].as_array().unwrap() {
        let held = known["fields"]
            .as_array()
            .unwrap()
            .iter()
            .find(|held| held["name"] == one["field"] && held["farm"] == one["farm"]);
        let ha = held.unwrap()["area_ha"].as_f64().unwrap();
        area += ha;
        heads += ha * one["scenarios"][0]["years"][9]["heads_per_m2"]["median"].as_f64().unwrap();
    }
    let found = json["all_fields"][0]["heads_per_m2"]["median"].as_f64().unwrap();
    assert!((found - heads / area).abs() < 1e-3 * found, "{found} {}", heads / area);
    let said = awn(["outlook", &project, "--year", "2027", "--all"]).out;
    assert!(said.contains("fields together") && said.contains("often share a fate"), "{said}");
}

#[derive(Default)]
struct Meter {
    seen: Mutex<Vec<(usize, usize)>>,
    stop_after: Option<usize>,
}

impl Progress for Meter {
    fn step(&self, done: usize, total: usize) {
        self.seen.lock().unwrap().push((done, total));
    }

    fn cancelled(&self) -> bool {
        self.stop_after.is_some_and(|most| self.seen.lock().unwrap().len() > most)
    }
}

#[test]
fn looking_ahead_tells_how_far_it_is_and_stops_when_asked() {
    let folder = tempfile::tempdir().unwrap();
    let path = farm(folder.path());
    let open = Project::open(&path).unwrap();
    let records = open.records().clone();
    let fields = records.fields_in(2027);
    let scenarios = records.scenarios.values().cloned().collect();
    let ask = Ask { fields: fields.clone(), scenarios, first_harvest: 2027, years: 10, start: Some(GivenStart::Heads(2.0)) };
    let meter = Meter::default();
    let found = outlook::for_records(&records, &ask, &mut Problems::new(), &meter).unwrap().unwrap();
    assert_eq!(found.len(), fields.len());
    let seen = meter.seen.into_inner().unwrap();
    assert!(seen.len() >= 2 * fields.len(), "each field is told when it is prepared and when it is drawn: {seen:?}");
    assert!(seen.iter().all(|(done, total)| *total == 2 * fields.len() && done <= total));
    assert_eq!(seen.iter().map(|(done, _)| *done).max(), Some(2 * fields.len()));
    // While densities are prepared, and while years are drawn.
    for stop_after in [3, fields.len() + 5] {
        let meter = Meter { stop_after: Some(stop_after), ..Meter::default() };
        let stopped = outlook::for_records(&records, &ask, &mut Problems::new(), &meter);
        assert!(matches!(stopped, Err(OutlookError::Cancelled(_))), "{stop_after}");
        assert!(meter.seen.into_inner().unwrap().len() < stop_after + 20);
    }
}

#[test]
fn the_sample_farm_has_an_outlook_that_is_the_same_each_time() {
    let folders = [tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap()];
    let [one, other] = folders.each_ref().map(|folder| text(&farm(folder.path())));
    let ((name, first), (other_name, second)) = (worst(&one), worst(&other));
    assert_eq!(name, other_name);
    assert_eq!(first, second, "identifiers differ, the outlook does not");
    let seen = awn(["outlook", &one, "--year", "2027", "--field", &name, "--json"]);
    let json = seen.json();
    let scenarios = json["fields"][0]["scenarios"].as_array().unwrap();
    assert_eq!(scenarios.len(), 4, "{seen:?}");
    let end = |index: usize| scenarios[index]["years"][9]["heads_per_m2"]["median"].as_f64().unwrap();
    // Two spring crops in four years leave fewer weeds than September wheat.
    assert!(end(2) < end(0), "{} {}", end(2), end(0));
    for scenario in scenarios {
        for year in scenario["years"].as_array().unwrap() {
            for key in ["heads_per_m2", "plants_per_m2", "seeds_per_m2", "yield_loss_percent", "control_to_hold_percent"] {
                let at = |which: &str| year[key][which].as_f64().unwrap();
                assert!(at("low") <= at("median") && at("median") <= at("high") && at("low") >= 0.0, "{key}: {year}");
            }
            assert!(year["money_per_ha"]["missing"].as_array().unwrap().is_empty(), "{year}");
            assert!(year["money_per_ha"]["cost"].as_f64().unwrap() > 0.0);
        }
    }
    // Words for people, with what it is not.
    let said = awn(["outlook", &one, "--year", "2027", "--field", &name]).out;
    assert!(said.contains("no forecast") && said.contains("adviser decide"), "{said}");
    println!("{said}");
}

#[test]
fn what_is_missing_or_too_much_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let path = farm(folder.path());
    let project = text(&path);
    // A fifth scenario.
    let mut open = Project::open(&path).unwrap();
    let records = open.records().clone();
    let mut edit = Edit::new(&records, "Add a scenario");
    let year = ScenarioYear {
        crop: "fallow".into(),
        cultivation: Cultivation::Shallow,
        control: LowLikelyHigh::fixed(0.0),
        ..ScenarioYear::default()
    };
    edit.put(Record::Scenario(Scenario {
        id: ScenarioId::new(),
        name: "Rest".into(),
        note: String::new(),
        years: vec![year],
    }));
    open.apply(edit.done()).unwrap();
    // It is kept, can be undone, and done again.
    assert_eq!(open.records().scenarios.len(), 5);
    open.undo().unwrap();
    assert_eq!(open.records().scenarios.len(), 4);
    open.redo().unwrap();
    drop(open);
    assert_eq!(Project::open(&path).unwrap().records().scenarios.len(), 5);
    let (name, all) = worst(&project);
    let too_many = awn(["outlook", &project, "--year", "2027", "--field", &name]);
    assert!(too_many.code == 2 && too_many.err.contains("holds 5 scenarios; choose up to 4"), "{too_many:?}");
    let named = ["As now", "Drill later", "Two spring crops", "Plough once", "Rest"];
    let arguments = ["outlook", &project, "--year", "2027", "--field", &name, "--scenario"];
    let too_many = awn(arguments.into_iter().chain(named));
    assert!(too_many.code == 2 && too_many.err.contains("5 scenarios were asked for; compare 1 to 4"), "{too_many:?}");
    let unknown = awn(arguments.into_iter().chain(["Hope"]));
    assert!(unknown.code == 2 && unknown.err.contains("no scenario “Hope”"), "{unknown:?}");
    // Fields without scouting are left out by name; asked for alone, they are an error, unless a density is given.
    let scouted: Vec<&Value> = all["fields"].as_array().unwrap().iter().map(|field| &field["field"]).collect();
    let fields = awn(["fields", &project, "--year", "2027", "--json"]).json();
    let bare = fields["fields"].as_array().unwrap().iter().find(|field| !scouted.contains(&&field["name"])).unwrap().clone();
    let bare = format!("{}/{}", bare["farm"].as_str().unwrap(), bare["name"].as_str().unwrap());
    let missing = awn(["outlook", &project, "--year", "2027", "--field", &bare, "--scenario", "As now", "--json"]);
    assert_eq!(missing.code, 1, "{missing:?}");
    assert!(missing.problems()[0]["what"].as_str().unwrap().contains("no density to start from"), "{missing:?}");
    let given =
        awn(["outlook", &project, "--year", "2027", "--field", &bare, "--scenario", "As now", "--start", "3", "--json"]);
    assert_eq!((given.code, given.json()["fields"][0]["start"]["mean"].clone()), (0, json!(3.0)), "{given:?}");
    // Prices and parameters.
    for (arguments, said) in [
        (["--spray-off=-4", "--draws=500"], "the cost of spraying off is set to -4; give 0 or more"),
        (["--crop", "winter wheat=-180,8"], "the price of winter wheat is set to -180"),
        (["--crop", "wheat=180,8"], "no crop that outlooks know"),
        (["--parameter", "decline=0.5,0.7,1.4"], "It lies from 0 to 1."),
        (["--draws=5", "--seed=3"], "5 draws are set; use 100 to 20000"),
    ] {
        let seen = awn(["costs", &project].into_iter().chain(arguments));
        assert!(seen.code != 0 && seen.err.contains(said), "{said}: {seen:?}");
    }
    let kept = awn(["costs", &project, "--parameter", "decline=0.75", "--draws", "400", "--json"]).json();
    assert_eq!(
        (kept["costs"]["parameters"]["decline"]["low"].clone(), kept["costs"]["draws"].clone()),
        (json!(0.75), json!(400))
    );
    let table = awn(["outlook", &project, "--year", "2027", "--parameters", "--json"]).json();
    let decline = table["parameters"].as_array().unwrap().iter().find(|row| row["key"] == "decline").unwrap().clone();
    assert_eq!((decline["set"].clone(), decline["range"]["likely"].clone()), (json!(true), json!(0.75)));
    assert!(decline["source"].as_str().unwrap().contains("PR 466"));
}

#[test]
fn patches_are_weighed_and_written_for_a_sprayer() {
    let folder = tempfile::tempdir().unwrap();
    let project = text(&farm(folder.path()));
    let (name, _) = worst(&project);
    let arguments = ["patches", &project, "--year", "2026", "--field", &name, "--control", "80,90,96", "--json"];
    let seen = awn(arguments);
    let json = seen.json();
    let patches = json["patches"].as_array().unwrap().clone();
    assert!(!patches.is_empty(), "{seen:?}");
    for patch in &patches {
        let figure = |key: &str, which: &str| patch["figures"][key][which].as_f64().unwrap();
        // The chain: what is set, lives until autumn and comes up grows less at each step.
        assert!(figure("seeds_set", "median") > figure("seeds_alive_in_autumn", "median"));
        assert!(figure("seeds_alive_in_autumn", "median") > figure("plants_next_year", "median"));
        assert!(figure("control_needed_if_left_percent", "median") > figure("control_needed_if_removed_percent", "median"));
        assert!(figure("yield_loss_if_left_percent", "median") > figure("yield_loss_if_removed_percent", "median"));
        let area = patch["figures"]["area_m2"].as_f64().unwrap();
        assert!((patch["figures"]["spray_off"].as_f64().unwrap() - 24.0 * area / 1e4).abs() < 1e-9);
        let hours = figure("plants", "median") / 180.0;
        assert!((figure("pulling_hours", "median") - hours).abs() < 1e-6 * hours);
    }
    // Each format, read by other programs.
    let refused = awn(arguments.into_iter().chain(["-o", &text(&folder.path().join("TASKDATA.xml"))]));
    assert!(refused.code == 2 && refused.err.contains("--rate"), "{refused:?}");
    for ending in ["shp", "geojson", "xml"] {
        let file = folder.path().join(format!("zones.{ending}"));
        let written = awn(arguments.into_iter().chain(["--patch", "1", "--rate", "200", "-o", &text(&file)]));
        assert_eq!(written.code, 0, "{written:?}");
        let read = awn_tests::reference::run("zones", &json!({ "file": file }));
        assert_eq!(read["count"], json!(1), "{read}");
        assert_eq!(read["valid"], json!(true), "{read}");
        assert_eq!(read["rate_l_ha"], json!([200.0]), "{read}");
        let area = patches[0]["figures"]["area_m2"].as_f64().unwrap();
        let away = read["area_m2"][0].as_f64().unwrap() / area - 1.0;
        // Outlines have their steps taken off; the cells are the measure.
        assert!(away.abs() < 0.2, "{away} {read}");
    }
    let wrong = awn(arguments.into_iter().chain(["--rate", "-5", "-o", &text(&folder.path().join("z.shp"))]));
    assert!(wrong.code == 2, "{wrong:?}");
    let unknown = awn(arguments.into_iter().chain(["--patch", "99"]));
    assert!(unknown.code == 2 && unknown.err.contains("there is no patch 99"), "{unknown:?}");
    let over = awn(["patches", &project, "--year", "2026", "--field", &name, "--control", "80,90,120"]);
    assert!(over.code == 1 && over.err.contains("from 0 to 100 %"), "{over:?}");
}

#[test]
fn a_file_of_an_older_version_takes_scenarios() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("farm.gpkg");
    let sql = std::fs::read_to_string(awn_tests::project_path("tests/data/version-2.sql")).unwrap();
    rusqlite::Connection::open(&path).unwrap().execute_batch(&sql).unwrap();
    let file = folder.path().join("scenarios.csv");
    std::fs::write(&file, SCENARIOS).unwrap();
    let added = awn(["add", "scenarios", &text(&path), &text(&file), "--json"]);
    assert_eq!((added.code, added.json()["added"].clone()), (0, json!(2)), "{added:?}");
    assert!(folder.path().join("farm.v2.gpkg").exists(), "the file as it was is kept");
    let mut project = Project::open(&path).unwrap();
    assert_eq!((project.records().scenarios.len(), project.records().results.len()), (2, 3));
    while project.undo().unwrap().is_some() {}
    assert!(project.records().scenarios.is_empty());
}

#[test]
fn a_scenario_that_lost_its_programme_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let project = text(&folder.path().join("p.gpkg"));
    awn(["new", &project]);
    let file = folder.path().join("scenarios.csv");
    std::fs::write(&file, "scenario,crop,drilled,programme\nA,winter wheat,10-05,Nobody's\n").unwrap();
    assert_eq!(awn(["add", "scenarios", &project, &text(&file)]).code, 0);
    let seen = awn(["check", &project, "--json"]);
    assert!(seen.problems().iter().any(|problem| problem["what"].as_str().unwrap().contains("“Nobody's”")), "{seen:?}");
}
