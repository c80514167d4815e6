//! The command line: the whole main job on the sample farm, the shapes of its answers, and its exit codes.

#![allow(clippy::unwrap_used, clippy::panic)] // helpers of tests stop where something is wrong

use std::path::{Path, PathBuf};
use std::sync::LazyLock;

use awn_tests::program::{Outcome, awn};
use serde_json::Value;

/// The sample farm with the whole job run on it, made once for this file's tests; each test works on a copy of the project.
static SAMPLE: LazyLock<(tempfile::TempDir, Value)> = LazyLock::new(|| {
    let folder = tempfile::tempdir().unwrap();
    let done = awn(["demo".as_ref(), folder.path().as_os_str(), "--no-window".as_ref(), "--json".as_ref()]);
    assert_eq!(done.code, 0, "{done:?}");
    let answer = done.json();
    (folder, answer)
});

/// A copy of the sample farm's project in a folder of its own.
fn project() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("season.gpkg");
    std::fs::copy(SAMPLE.0.path().join("sample-farm.gpkg"), &path).unwrap();
    (folder, path)
}

fn ask(verb: &str, project: &Path, more: &[&str]) -> Outcome {
    let arguments = [verb, project.to_str().unwrap(), "--json"];
    awn(arguments.iter().copied().chain(more.iter().copied()))
}

fn is_a_number(value: &Value) -> bool {
    value.as_f64().is_some_and(f64::is_finite)
}

#[test]
fn the_demo_runs_the_whole_job_and_writes_its_outputs() {
    let (folder, answer) = &*SAMPLE;
    for name in [
        "sample-farm.gpkg",
        "map-rating.png",
        "map-age.png",
        "map-density.png",
        "map-due.png",
        "map-money-at-risk.png",
        "stops.gpx",
        "walks.gpx",
        "fields.csv",
        "results.csv",
        "due.txt",
        "act.txt",
        "field-order.txt",
    ] {
        let size = std::fs::metadata(folder.path().join(name)).map_or(0, |meta| meta.len());
        assert!(size > 200, "{name} has {size} bytes");
    }
    let due = answer["due"]["fields"].as_array().unwrap().iter().filter(|field| field["due"] == true).count();
    assert!(due > 3, "{due} fields are due");
    assert_eq!(answer["plans"].as_array().unwrap().len(), due);
}

#[test]
fn fields_have_the_shape_that_was_promised() {
    let (_folder, path) = project();
    let answer = ask("fields", &path, &[]).json();
    let fields = answer["fields"].as_array().unwrap();
    assert!(fields.len() >= 38, "{}", fields.len());
    let (mut untested, mut tested) = (0, 0);
    for field in fields {
        assert!(field["id"].is_string() && field["name"].is_string() && field["farm"].is_string(), "{field}");
        assert!(field["area_ha"].as_f64().unwrap() > 1.0, "{field}");
        if field["worst"].is_null() {
            // Untested is never shown as good.
            assert!(field["ratings"].as_object().unwrap().is_empty() && field["years_since_test"].is_null(), "{field}");
            untested += 1;
        } else {
            let rank = |rating: &Value| ["S", "R?", "RR", "RRR"].iter().position(|known| rating == known).unwrap();
            let worst = field["ratings"].as_object().unwrap().values().map(|group| rank(&group["rating"])).max().unwrap();
            assert_eq!(rank(&field["worst"]), worst, "{field}");
            let years = answer["year"].as_i64().unwrap() - field["last_test_year"].as_i64().unwrap();
            assert_eq!(field["years_since_test"], years, "{field}");
            tested += 1;
        }
    }
    assert!(untested > 2 && tested > 20, "{untested} untested, {tested} tested");
}

#[test]
fn stops_have_the_shape_that_was_promised() {
    let (_folder, path) = project();
    let due = ask("due", &path, &["--year", "2027"]).json();
    let first = due["fields"][0].clone();
    let name = format!("{}/{}", first["farm"].as_str().unwrap(), first["field"].as_str().unwrap());
    let given = ["--year", "2027", "--field", &name, "--stops", "6", "--seed", "7"];
    let answer = ask("stops", &path, &given);
    assert_eq!(answer.code, 0, "{answer:?}");
    let plan = &answer.json()["plans"][0];
    assert_eq!((&plan["year"], &plan["method"], &plan["seed"]), (&2027.into(), &"even".into(), &7.into()));
    let stops = plan["stops"].as_array().unwrap();
    assert!((1..=6).contains(&stops.len()));
    let shares: f64 = stops.iter().map(|stop| stop["share"].as_f64().unwrap()).sum();
    assert!((shares - 1.0).abs() < 1e-9, "{shares}");
    for figure in [
        "balance",
        "weighted_distance_m",
        "distance_95_m",
        "tramlines",
        "extent_m",
        "gate_distance_m",
        "population_within_25_m",
        "random_stops",
        "detection",
        "n_eff",
    ] {
        assert!(is_a_number(&plan["figures"][figure]), "{figure}: {}", plan["figures"]);
        assert!(is_a_number(&plan["gate_figures"][figure]), "{figure}: {}", plan["gate_figures"]);
    }
    assert!(plan["figures"]["balance"].as_f64() < plan["gate_figures"]["balance"].as_f64(), "{plan}");
    let line = plan["walk"]["line"].as_array().unwrap();
    assert_eq!(line.first(), line.last(), "the walk is closed");
    assert_eq!(line[0][0], plan["gate"]["lon"]);
    assert!(is_a_number(&plan["walk"]["length_m"]) && is_a_number(&plan["walk"]["minutes"]) && plan["notes"].is_array());

    // The same seed gives the same bytes; and the plan is kept.
    let again = ask("stops", &path, &given);
    assert_eq!(answer.out, again.out);
    let gpx = path.with_file_name("stops.gpx");
    let written =
        ask("export", &path, &["--what", "stops", "--format", "gpx", "--year", "2027", "-o", gpx.to_str().unwrap()]);
    assert_eq!(written.code, 0, "{written:?}");
    assert!(std::fs::read_to_string(gpx).unwrap().contains("<wpt"));
}

#[test]
fn a_time_budget_is_kept() {
    let (_folder, path) = project();
    let due = ask("due", &path, &["--year", "2027"]).json();
    let name = format!("{}/{}", due["fields"][0]["farm"].as_str().unwrap(), due["fields"][0]["field"].as_str().unwrap());
    let plan = |minutes: &str| {
        ask("stops", &path, &["--year", "2027", "--field", &name, "--minutes", minutes]).json()["plans"][0].clone()
    };
    let (short, long) = (plan("45"), plan("80"));
    assert!(short["walk"]["minutes"].as_f64().unwrap() <= 45.0 || short["stops"].as_array().unwrap().len() == 1, "{short}");
    assert!(long["walk"]["minutes"].as_f64().unwrap() <= 80.0, "{long}");
    assert!(long["stops"].as_array().unwrap().len() > short["stops"].as_array().unwrap().len());
}

#[test]
fn rate_has_the_shape_that_was_promised() {
    let (_folder, path) = project();
    let answer = ask("rate", &path, &[]).json();
    let results = answer["results"].as_array().unwrap();
    assert!(results.len() > 50, "{}", results.len());
    for result in results {
        let share = result["reduction"].as_f64().unwrap() / result["standard"].as_f64().unwrap() + 1e-9;
        let expected = if share >= 0.9 {
            "S"
        } else if share >= 0.8 {
            "R?"
        } else if share >= 0.4 {
            "RR"
        } else {
            "RRR"
        };
        assert_eq!(result["rating"], expected, "{result}");
        if result["interval"].is_array() {
            let shares: f64 = result["class_shares"].as_object().unwrap().values().filter_map(Value::as_f64).sum();
            assert!((shares - 1.0).abs() < 1e-9, "{result}");
        }
        assert_eq!(result["agrees"].is_null(), result["lab_rating"].is_null(), "{result}");
    }
    assert!(results.iter().any(|result| result["agrees"] == false), "the sample farm has a disputed rating");
}

#[test]
fn due_lists_every_field_with_reasons() {
    let (_folder, path) = project();
    let answer = ask("due", &path, &["--year", "2027", "--budget", "3"]).json();
    assert_eq!(answer["year"], 2027);
    let fields = answer["fields"].as_array().unwrap();
    assert_eq!(fields.iter().filter(|field| field["within_budget"] == true).count(), 3);
    for field in fields {
        assert!(field["due"].is_boolean() && is_a_number(&field["score"]), "{field}");
        assert!(!field["reasons"].as_array().unwrap().is_empty(), "{field}");
    }
}

#[test]
fn what_cannot_be_done_is_said_with_exit_code_2() {
    let folder = tempfile::tempdir().unwrap();
    let missing = folder.path().join("none.gpkg");
    let answer = ask("fields", &missing, &[]);
    assert_eq!((answer.code, answer.out.as_str()), (2, ""));
    assert!(answer.problems()[0]["what"].as_str().unwrap().contains("none.gpkg"));
    assert_eq!(awn(["stops", "none.gpkg", "--year", "2027"]).code, 2, "one of --field, --due, --all is needed");
    assert_eq!(awn(["--help"]).code, 0);
    let (_kept, path) = project();
    let unknown = ask("stops", &path, &["--year", "2027", "--field", "Nowhere"]);
    assert_eq!(unknown.code, 2);
    assert!(unknown.problems()[0]["what"].as_str().unwrap().contains("Nowhere"), "{unknown:?}");
    let bmp = ask("map", &path, &["--colour", "rating", "-o", "map.bmp"]);
    assert_eq!(bmp.code, 2);
}

#[test]
fn check_finds_the_disputed_ratings() {
    let (_folder, path) = project();
    let answer = ask("check", &path, &[]);
    assert_eq!(answer.code, 1, "{answer:?}");
    assert!(answer.problems().iter().any(|problem| problem["what"].as_str().unwrap().contains("laboratory printed")));
    assert!(answer.problems().iter().all(|problem| problem["severity"] != "error"), "{answer:?}");
}

#[test]
fn planning_from_density_to_comparison() {
    let folder = tempfile::tempdir().unwrap();
    let (boundaries, lines, trial, project) =
        ("fields.geojson", "lines.geojson", "trial.geojson", folder.path().join("farm.gpkg").display().to_string());
    let write = |name: &str, kind: &str, coordinates: &str| {
        let text = format!(
            r#"{{"type":"FeatureCollection","features":[{{"type":"Feature","properties":{{"name":"Long Acre"}},"geometry":{{"type":"{kind}","coordinates":{coordinates}}}}}]}}"#
        );
        std::fs::write(folder.path().join(name), text).unwrap();
        folder.path().join(name).display().to_string()
    };
    let boundaries =
        write(boundaries, "Polygon", "[[[-0.41,52.70],[-0.405,52.70],[-0.405,52.703],[-0.41,52.703],[-0.41,52.70]]]");
    let lines = write(
        lines,
        "MultiLineString",
        "[[[-0.409,52.7],[-0.409,52.703]],[[-0.4085,52.7],[-0.4085,52.703]],[[-0.408,52.7],[-0.408,52.703]]]",
    );
    let trial =
        write(trial, "Polygon", "[[[-0.407,52.701],[-0.406,52.701],[-0.406,52.702],[-0.407,52.702],[-0.407,52.701]]]");
    let places = folder.path().join("places.csv").display().to_string();
    std::fs::write(&places, "lon,lat\n-0.4085,52.701\n-0.4084,52.7011\n-0.4086,52.7012\n-0.408,52.702\n").unwrap();
    let grid = folder.path().join("grid.asc").display().to_string();
    std::fs::write(
        &grid,
        "ncols 3\nnrows 2\nxllcorner -0.411\nyllcorner 52.699\ncellsize 0.003\nNODATA_value -9999\n1 2 0\n9 4 -9999\n",
    )
    .unwrap();
    let ask = |arguments: &[&str]| {
        let all: Vec<&str> = arguments.iter().copied().chain(["--json"]).collect();
        let done = awn(all);
        assert_eq!(done.code, 0, "{arguments:?}: {done:?}");
        done.json()
    };
    ask(&["new", &project]);
    ask(&["add", "boundaries", &project, &boundaries, "--farm", "Sallowby"]);
    assert_eq!(ask(&["add", "tramlines", &project, &lines, "--headland", "20"])["added"], 1);
    assert_eq!(ask(&["add", "no-go", &project, &trial])["added"], 1);
    let field = ["--year", "2026", "--field", "Long Acre"];
    let of_field = |verb: &str| ask(&[&[verb, &project][..], &field[..]].concat());
    ask(&["add", "scouting", &project, &places, "--date", "2026-06-01", "--kind", "places", "--unit", "plants/m2"]);
    assert_eq!(of_field("density")["method"], "kernel");
    ask(&[
        "add",
        "scouting",
        &project,
        &grid,
        "--date",
        "2026-06-02",
        "--kind",
        "raster",
        "--unit",
        "heads/m2",
        "--crs",
        "EPSG:4326",
    ]);
    let density = of_field("density");
    // Pixels of 1, 2, 9 and 4 heads/m2 lie over the field, one of none and one without data: the mean lies between.
    assert_eq!(density["method"], "raster");
    assert!((1.0..9.0).contains(&density["mean"].as_f64().unwrap()), "{density}");

    let plan = ask(&[&["stops", &project][..], &field[..], &["--stops", "4", "--people", "2"]].concat());
    let plan = &plan["plans"][0];
    assert_eq!(plan["stops"].as_array().unwrap().len(), 4);
    assert!(plan["second_walk"]["length_m"].as_f64().unwrap() > 0.0);
    let compared = of_field("compare");
    let ways: Vec<&str> =
        compared["plans"].as_array().unwrap().iter().map(|plan| plan["method"].as_str().unwrap()).collect();
    assert_eq!(ways, ["even", "random", "w", "tramline"], "no gate is known");
    let points = of_field("how-many");
    assert!(points["points"].as_array().unwrap().len() > 3);
    // A pinned place stays however the number is asked for; it is taken to the tramlines, 24 m apart here.
    let timed = ask(&[&["stops", &project][..], &field[..], &["--minutes", "30", "--pin", "-0.408,52.701"]].concat());
    let near = |stop: &serde_json::Value| {
        let off = [("lon", -0.408, 67_500.0), ("lat", 52.701, 111_300.0)];
        off.iter().map(|(key, at, m)| (stop[*key].as_f64().unwrap() - at) * m).map(|d| d * d).sum::<f64>().sqrt() < 25.0
    };
    assert!(timed["plans"][0]["stops"].as_array().unwrap().iter().any(near), "{timed}");
}
