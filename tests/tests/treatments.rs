//! Tables of sprays, crops and programmes as people have them: files, pasted text, other headings, and what is wrong in them.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers outside test functions may fail loudly too

mod support;

use awn_core::act;
use awn_core::exchange::{self, Import, ImportError, Treatment, TreatmentSource};
use awn_core::model::{Records, Spray};
use awn_core::problem::Problems;
use awn_core::progress::Quiet;
use awn_core::project::Project;
use awn_tests::reference;
use serde_json::json;
use support::{Folder, error_at, project};

fn read(
    records: &Records,
    kind: Treatment,
    source: &TreatmentSource,
    map: &[(&str, &str)],
) -> (Result<Import, ImportError>, Problems) {
    let map: Vec<_> = map.iter().map(|(a, b)| ((*a).to_owned(), (*b).to_owned())).collect();
    let mut problems = Problems::new();
    let import = exchange::treatments(records, kind, source, &map, &mut problems, &Quiet);
    (import, problems)
}

fn text(text: &str) -> TreatmentSource {
    TreatmentSource::Text(text.to_owned())
}

fn put(project: &mut Project, kind: Treatment, source: &TreatmentSource, map: &[(&str, &str)]) -> (usize, usize) {
    let (import, problems) = read(project.records(), kind, source, map);
    let import = import.unwrap_or_else(|_| panic!("{problems:#?}"));
    let counts = (import.added, import.updated);
    project.apply(import.command).unwrap();
    counts
}

fn sprays(records: &Records) -> Vec<&Spray> {
    let mut list: Vec<&Spray> = records.sprays.values().map(|spray| &**spray).collect();
    list.sort_by(|a, b| (a.date, &a.active).cmp(&(b.date, &b.active)));
    list
}

/// As copied from a spreadsheet: tabs, a title, other words, a pass of two modes of action, a repeated row.
const PASTED: &str = "Spray records\n\
Field name\tSeason\tDate applied\tActive ingredient\tRate (g/ha)\tGS\tCost (£/ha)\tComments\tWeather\n\
Hill Farm/Long Acre\t2026\t02/10/2025\tFlufenacet + diflufenican\t240+60\tpre-em\t£30.50\tgood\tdry\n\
Hill Farm/Long Acre\t2026\t8 March 2026\tMesosulfuron+iodosulfuron\t14.5\t23\t36\tsurvivors in patches\t\n\
Hill Farm/Long Acre\t2026\t8 March 2026\tMesosulfuron+iodosulfuron\t14.5\t23\t36\tsurvivors in patches\t\n";

#[test]
fn pasted_sprays_are_read_as_they_come() {
    let mut project = project();
    let (import, problems) = read(project.records(), Treatment::Sprays, &text(PASTED), &[]);
    let import = import.unwrap_or_else(|_| panic!("{problems:#?}"));
    assert_eq!((import.added, import.updated, import.skipped), (3, 0, 1));
    assert!(problems.list.iter().any(|problem| problem.what.contains("“Weather” is not read")), "{problems:#?}");
    project.apply(import.command).unwrap();
    let records = project.records().clone();
    let [dff, flufenacet, als] = sprays(&records)[..] else { panic!("{:?}", records.sprays) };
    assert_eq!(
        (flufenacet.active.as_str(), flufenacet.group.as_str(), flufenacet.dose_g_per_ha),
        ("flufenacet", "15", Some(240.0))
    );
    assert_eq!((dff.active.as_str(), dff.group.as_str(), dff.dose_g_per_ha), ("diflufenican", "12", Some(60.0)));
    // The pass cost 30.50 once, not twice.
    assert_eq!(flufenacet.cost_per_ha.unwrap_or_default() + dff.cost_per_ha.unwrap_or_default(), 30.5);
    assert_eq!((als.date, als.growth_stage.as_str()), (Some(jiff::civil::date(2026, 3, 8)), "23"));
    assert_eq!((als.dose_g_per_ha, als.effect.as_str()), (Some(14.5), "survivors in patches"));
    // The same table again changes nothing.
    assert_eq!(put(&mut project, Treatment::Sprays, &text(PASTED), &[]), (0, 3));
    assert_eq!(project.records().sprays, records.sprays);
    let preview = exchange::treatment_preview(project.records(), Treatment::Sprays, &text(PASTED), &[]);
    assert_eq!((preview.heading, preview.count, preview.outcome), (2, 3, Some((0, 3, 1))));
    let uses = act::uses(project.records(), sprays(project.records())[0].field, 2020, 2026);
    assert_eq!(uses.groups(), ["2", "12", "15"]);
}

#[test]
fn a_workbook_and_its_mapping_are_remembered() {
    let folder = Folder::new();
    let path = folder.path("passes.xlsx");
    let rows = json!([["Where", "Year", "What", "Amount"], ["Pit Close", 2026, "propyzamide", 0.84]]);
    reference::run("spreadsheet", &json!({ "write": path, "sheets": { "Passes": rows } }));
    let mut project = project();
    let file = TreatmentSource::File(path);
    let (refused, problems) = read(project.records(), Treatment::Sprays, &file, &[]);
    assert!(
        refused.is_err() && problems.errors().any(|problem| problem.what.contains("column field is missing")),
        "{problems:#?}"
    );
    let map = [("Where", "field"), ("What", "active"), ("Amount", "dose"), ("=kg/ha", "unit")];
    assert_eq!(put(&mut project, Treatment::Sprays, &file, &map), (1, 0));
    assert_eq!(sprays(project.records())[0].dose_g_per_ha, Some(840.0));
    // The same headings need no mapping any more.
    assert_eq!(put(&mut project, Treatment::Sprays, &file, &[]), (0, 1));
}

#[test]
fn what_is_wrong_in_sprays_is_named_with_place_and_remedy() {
    let project = project();
    let head = "field,year,date,active,dose\n";
    for (row, what, hint) in [
        ("Pit Close,2026,,glyphosphate,720 g/ha", "“glyphosphate” is not known", "Did you mean glyphosate?"),
        ("Pit Close,2026,,glyphosate,720", "has no unit", "720 g/ha"),
        ("Pit Close,2026,,glyphosate,2 l/ha", "the product is not known", "as its label says"),
        ("Pit Close,2026,2024-10-01,glyphosate,720 g/ha", "not of harvest 2026", "Correct the day"),
        ("Pit Close,2026,31/02/2026,glyphosate,720 g/ha", "is no day", "2026-10-18"),
        ("Pit Clse,2026,,glyphosate,720 g/ha", "there is no field “Pit Clse”", "Pit Close?"),
        (",2026,,glyphosate,720 g/ha", "names no field", "farm/field"),
        ("Pit Close,,,glyphosate,720 g/ha", "no harvest year", "--set year=2026"),
        ("Pit Close,2026,,flufenacet+diflufenican,300 g/ha", "one dose is given for 2 modes", "240+60"),
        ("Pit Close,2026,,flufenacet,240 kg/ha", "240 kg of active", "unit"),
        ("Pit Close,2026,,flufenacet,240+60 g/ha", "2 doses are given for 1", "one for each"),
    ] {
        let (import, problems) = read(project.records(), Treatment::Sprays, &text(&format!("{head}{row}\n")), &[]);
        assert!(matches!(import, Err(ImportError::Problems)), "{row}");
        let problem = error_at(&problems, "pasted text, row 2");
        assert!(problem.what.contains(what) && problem.hint.contains(hint), "{row}: {problem}");
    }
    let products = "field,year,product,active,dose\nPit Close,2026,Some brand,glyphosate,1.5 kg/ha\n";
    let (import, problems) = read(project.records(), Treatment::Sprays, &text(products), &[]);
    assert!(
        import.is_ok() && problems.list.iter().any(|problem| problem.what.contains("column of products")),
        "{problems:#?}"
    );
    // An active that is new to the table of modes is taken with its group.
    let new = "field,year,active,HRAC,dose\nPit Close,2026,newsulfuron,2,15 g/ha\n";
    assert!(read(project.records(), Treatment::Sprays, &text(new), &[]).0.is_ok());
    assert!(read(project.records(), Treatment::Sprays, &text(""), &[]).0.is_err());
}

#[test]
fn crops_with_drilling_and_cultivation() {
    let mut project = project();
    let table = "Field;Harvest;Crop;Drilled;Cultivation\nHill Farm/Long Acre;2026;winter wheat;14/10/2025;ploughed\nPit Close;2026;spring barley;;\n";
    assert_eq!(put(&mut project, Treatment::Crops, &text(table), &[]), (2, 0));
    let wheat = project.records().crops.values().find(|crop| crop.crop == "winter wheat").unwrap().clone();
    assert_eq!((wheat.drilled, wheat.cultivation.as_str()), (Some(jiff::civil::date(2025, 10, 14)), "ploughed"));
    // A table that does not speak of cultivation does not take it away.
    assert_eq!(
        put(&mut project, Treatment::Crops, &text("field,year,crop\nHill Farm/Long Acre,2026,winter barley\n"), &[]),
        (0, 1)
    );
    let changed = project.records().crops[&wheat.id].clone();
    assert_eq!(
        (changed.crop.as_str(), changed.cultivation.as_str(), changed.drilled),
        ("winter barley", "ploughed", wheat.drilled)
    );
    let late = "field,year,crop,drilled\nPit Close,2026,winter wheat,2026-11-14\n";
    let (_, problems) = read(project.records(), Treatment::Crops, &text(late), &[]);
    assert!(problems.errors().any(|problem| problem.what.contains("not of harvest 2026")), "{problems:#?}");
    let twice = "field,year,crop\nPit Close,2026,winter wheat\nPit Close,2026,winter rye\n";
    let (_, problems) = read(project.records(), Treatment::Crops, &text(twice), &[]);
    assert!(problems.errors().any(|problem| problem.what.contains("row 2 has a crop")), "{problems:#?}");
}

#[test]
fn programmes_need_the_users_own_figures() {
    let mut project = project();
    let head = "programme,timing,active,dose,control_low,control_likely,control_high,cost_per_ha\n";
    let good = format!(
        "{head}Wheat,pre-emergence,flufenacet+diflufenican,240+60 g/ha,60,72,82,30.5\nWheat,spring,pinoxaden,45 g/ha,,88,,31\n"
    );
    assert_eq!(put(&mut project, Treatment::Programmes, &text(&good), &[]), (1, 0));
    let programme = project.records().programme_named("wheat").unwrap().clone();
    assert_eq!((programme.steps.len(), programme.cost_per_ha()), (2, 61.5));
    assert_eq!(programme.steps[0].parts(), [("flufenacet".into(), "15".into()), ("diflufenican".into(), "12".into())]);
    assert_eq!((programme.steps[1].control.low, programme.steps[1].control.high), (88.0, 88.0));
    for (row, what) in [
        ("Wheat,,flufenacet,240 g/ha,60,172,82,30.5", "between 0 and 100"),
        ("Wheat,,flufenacet,240 g/ha,80,72,82,30.5", "not in order"),
        ("Wheat,,flufenacet,240 g/ha,60,,82,30.5", "control_likely is empty"),
        ("Wheat,,flufenacet,240 g/ha,60,72,82,", "cost_per_ha is empty"),
        ("Wheat,,flufenacet,1 l/ha,60,72,82,30", "the product is not known"),
        (",,flufenacet,240 g/ha,60,72,82,30", "names no programme"),
        ("Wheat,,flufenacet,240 g/ha,0.6,0.72,0.82,30", "look like fractions"),
    ] {
        let (import, problems) = read(project.records(), Treatment::Programmes, &text(&format!("{head}{row}\n")), &[]);
        assert!(import.is_err() && problems.errors().any(|problem| problem.what.contains(what)), "{row}: {problems:#?}");
    }
    assert_eq!(project.records().programme_named("Wheat").unwrap(), &programme, "a refused table changes nothing");
}
