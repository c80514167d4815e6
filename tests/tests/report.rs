//! Reports: what stands on the pages is what was worked out and what the window shows; other readers of PDF agree; odd farms do not
//! break pages.

#![allow(clippy::unwrap_used, clippy::panic)] // helpers of tests: stopping with a sentence is the answer

use std::collections::BTreeSet;
use std::sync::OnceLock;

use awn::gui::facts::Facts;
use awn_core::model::{Farm, FarmId, Field, FieldId, Rating, Record, Records};
use awn_core::progress::{Progress, Quiet};
use awn_core::project::Project;
use awn_core::report::{Content, Cover, Paper, Part, Report, ReportError, ReportRequest, Version, Words};
use awn_core::typeset::Archival;
use awn_core::units;
use awn_sample_farm::SEASON;
use awn_tests::reference;
use jiff::civil::{Date, date};
use serde_json::{Value, json};

const DAY: Date = date(2026, 11, 25);

/// The sample farm with plans for two of the fields that are due.
fn farm() -> &'static Records {
    static FARM: OnceLock<Records> = OnceLock::new();
    FARM.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap();
        let path = awn::demo::write_sample_farm(folder.path(), &Quiet).unwrap();
        let mut records = (**Project::open(&path).unwrap().records()).clone();
        let due: Vec<FieldId> =
            awn_core::season::due(&records, SEASON).into_iter().filter(|due| due.due).map(|due| due.field).collect();
        for field in &due[..2] {
            let settings = records.settings.plan.clone();
            let plan = awn_core::stops::propose(&records, *field, SEASON, &settings, &Quiet).unwrap();
            records.put(Record::Plan(plan));
        }
        records
    })
}

fn request(parts: &[Part]) -> ReportRequest {
    ReportRequest { parts: parts.iter().copied().collect(), ..ReportRequest::new(SEASON, DAY) }
}

/// All of it, with what is not there by itself.
fn whole() -> ReportRequest {
    ReportRequest {
        parts: Part::ALL.into(),
        beside: Some(SEASON - 3),
        title: "What resists, and where".to_owned(),
        author: "A. N. Adviser".to_owned(),
        ..ReportRequest::new(SEASON, DAY)
    }
}

/// A PDF as other programs see it.
fn seen(pdf: &[u8]) -> Value {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("report.pdf");
    std::fs::write(&path, pdf).unwrap();
    reference::run("pdf", &json!({ "path": path }))
}

fn text(seen: &Value) -> Vec<String> {
    seen["text"].as_array().unwrap().iter().map(|page| page.as_str().unwrap().to_owned()).collect()
}

/// The one line of a text that holds all of these words.
fn line<'a>(text: &'a str, words: &[&str]) -> &'a str {
    text.lines()
        .find(|line| words.iter().all(|word| line.contains(word)))
        .unwrap_or_else(|| panic!("no line with {words:?} in:\n{text}"))
}

/// The figures of a line, in order.
fn figures(line: &str) -> Vec<&str> {
    line.split_whitespace().filter(|word| word.starts_with(|c: char| c.is_ascii_digit())).collect()
}

#[test]
fn figures_on_the_pages_are_those_worked_out_and_those_on_the_screen() {
    let report = Report::make(farm(), &whole(), &Quiet).unwrap();
    let (pdf, _) = report.pdf().unwrap();
    let seen = seen(&pdf);
    let pages = text(&seen);
    assert_eq!(seen["pages"], json!([report.pages.count(), report.pages.count()]));
    let content = &report.content;
    let all = pages.join("\n");
    assert!(pages[0].contains("What resists, and where") && pages[0].contains("A. N. Adviser"), "{}", pages[0]);
    assert!(pages[0].contains("25 November 2026"));

    // The window's facts, worked out apart.
    let facts = Facts::of(farm(), SEASON);
    assert_eq!(content.lines.len(), facts.rows.len());
    for (line, row) in content.lines.iter().zip(&facts.rows) {
        assert_eq!((line.id, line.worst, line.last_test, line.years), (row.id, row.worst, row.last_test, row.years));
        assert_eq!((line.worst_year, line.due), (row.worst_year, row.due), "{}", line.name);
    }

    // Classes of the summary.
    let summary = pages.iter().find(|page| page.trim_start().starts_with("Summary")).unwrap();
    for class in &content.classes {
        let meaning = class.rating.map_or("not tested: nothing known", Rating::meaning);
        let found = figures(line(summary, &[meaning]));
        assert_eq!(found[..2], [class.fields.to_string().as_str(), units::ha(class.area_m2).as_str()], "{meaning}");
        let rows = facts.rows.iter().filter(|row| row.worst == class.rating);
        assert_eq!(class.fields, rows.clone().count());
        assert!((class.area_m2 - rows.map(|row| row.area_m2).sum::<f64>()).abs() < 1e-6);
    }

    // Every field of the table.
    let table: String =
        pages.iter().skip_while(|page| !page.trim_start().starts_with("All fields")).take(3).cloned().collect();
    for field in &content.lines {
        let found = line(&table, &[&field.name, &units::ha(field.area_m2)]);
        for (rating, year) in field.groups.values() {
            assert!(found.contains(&format!("{} {:02}", rating.label(), year % 100)), "{found}");
        }
        if let (Some(last), Some(years)) = (field.last_test, field.years) {
            assert!(
                figures(found).contains(&last.to_string().as_str()) && figures(found).contains(&years.to_string().as_str())
            );
        }
    }

    // Results of a field's page.
    let page = content.pages.iter().find(|page| page.tests.len() > 3).unwrap();
    let name = &content.lines[page.line].name;
    let at =
        pages.iter().position(|text| text.contains(name.as_str()) && text.contains("Reduction by each active")).unwrap();
    for test in &page.tests {
        let [low, high] = test.interval.unwrap();
        let first = test.active.split('+').next().unwrap();
        // An active stands on two or three lines beside the middle of which its figures are; the reader gives these a line of
        // their own, next to that of the name.
        let lines: Vec<&str> = pages[at].lines().collect();
        let interval = format!("{low:.0} to {high:.0}");
        let named = lines.iter().enumerate().filter(|(_, line)| line.contains(first)).map(|(at, _)| at);
        let near = named.flat_map(|at| lines[at..].iter().take(3)).find(|line| line.contains(&interval));
        let found = near.unwrap_or_else(|| panic!("{interval} is not beside {first}:\n{}", pages[at]));
        assert!(figures(found).contains(&format!("{:.0}", test.reduction.unwrap()).as_str()), "{found}");
        assert!(found.contains(test.rating.unwrap().label()), "{found}");
    }

    // No word is missing, and no place in a sentence was left empty.
    for key in Words::english().all().keys().filter(|key| key.contains('.')) {
        assert!(!all.contains(key.as_str()), "{key}");
    }
    assert!(!all.contains('{'), "{}", line(&all, &["{"]));
}

#[test]
fn the_same_records_and_day_give_the_same_bytes() {
    let request = request(&[Part::Cover, Part::Summary, Part::RatingMap, Part::Season, Part::Fields]);
    let made = || Report::make(farm(), &request, &Quiet).unwrap().pdf().unwrap().0;
    let pdf = made();
    assert!(pdf == made());
    let other = ReportRequest { date: date(2026, 11, 26), ..request.clone() };
    assert!(pdf != Report::make(farm(), &other, &Quiet).unwrap().pdf().unwrap().0);
}

#[test]
fn the_pdf_is_archival_tagged_and_whole() {
    let report = Report::make(farm(), &whole(), &Quiet).unwrap();
    let (pdf, archival) = report.pdf().unwrap();
    assert_eq!(archival, Archival::A2a);
    let seen = seen(&pdf);
    // ISO 19005-2: 6.6.4 identification, 6.2.2 output intent, 6.2.11.4 fonts inside, 6.1.3 no encryption, 6.7 tagged.
    assert_eq!((&seen["part"], &seen["conformance"]), (&json!("2"), &json!("A")));
    assert_eq!((&seen["intent"], &seen["marked"]), (&json!(true), &json!(true)));
    assert_eq!((&seen["encrypted"], &seen["javascript"]), (&json!(false), &json!(false)));
    let fonts = seen["fonts"].as_array().unwrap();
    assert!(!fonts.is_empty() && fonts.iter().all(|font| font[1] == json!(true)), "{fonts:?}");
    for kind in ["/Table", "/TH", "/TD", "/H1", "/H2", "/Figure", "/Caption"] {
        assert!(seen["tagged"][kind].as_u64().unwrap_or(0) > 0, "{kind}: {}", seen["tagged"]);
    }
    // Every map has words for those who cannot see it.
    assert_eq!(seen["alternatives"][0], seen["alternatives"][1], "{}", seen["alternatives"]);
    assert_eq!(seen["lang"], json!("en-GB"));
    assert_eq!(seen["title"], json!("What resists, and where"));
}

#[test]
fn another_program_finds_no_fault_that_the_archive_standard_knows() {
    let fields = farm().fields_in(SEASON).into_iter().take(2).map(|field| field.id).collect();
    let few = ReportRequest { fields: Some(fields), beside: Some(SEASON - 3), ..request(&Part::ALL) };
    let (pdf, archival) = Report::make(farm(), &few, &Quiet).unwrap().pdf().unwrap();
    assert_eq!(archival, Archival::A2a);
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("report.pdf");
    std::fs::write(&path, pdf).unwrap();
    // Preflight of Apache PDFBox holds files to part 1 of ISO 19005, which is the stricter: it has no transparency at all. What part 2
    // newly allows: colour profiles of version 4 (6.2.3), and that it says it is part 2 (6.6.4). Preflight does not follow references
    // to destinations, which both parts allow.
    let allowed = ["Invalid version of the ICCProfile", "part must be 1", "can't convert to Destination COSObject"];
    let found = reference::run("preflight", &json!({ "path": path }));
    let faults = found["faults"].as_array().unwrap();
    assert!(faults.iter().any(|fault| fault[0] == json!("7.11.2")), "Preflight did not read the claim: {faults:?}");
    for fault in faults {
        let words = fault[1].as_str().unwrap();
        assert!(allowed.iter().any(|known| words.contains(known)), "{fault}");
    }
}

#[test]
fn parts_version_paper_and_fields_are_as_asked_for() {
    let some = farm().fields_named("Ravel Hill", Some(SEASON)).remove(0);
    let grower = ReportRequest {
        version: Version::Grower,
        paper: Paper::Letter,
        fields: Some([some.id].into()),
        parts: [Part::Pages, Part::Summary].into(),
        ..ReportRequest::new(SEASON, DAY)
    };
    let report = Report::make(farm(), &grower, &Quiet).unwrap();
    let seen = seen(&report.pdf().unwrap().0);
    let pages = text(&seen);
    // US letter is 8.5 by 11 inches: 612 by 792 points.
    assert_eq!(seen["sizes"][0], json!([612.0, 792.0]));
    assert_eq!(report.content.lines.len(), 1);
    assert!(pages[0].contains("1 field of"), "{}", pages[0]);
    let all = pages.join("\n");
    assert!(all.contains("Ravel Hill") && !all.contains("Chance, %") && !all.contains("Method and definitions"));
    let resistant: BTreeSet<FieldId> =
        report.content.lines.iter().filter(|line| line.worst >= Some(Rating::RR)).map(|line| line.id).collect();
    let few = ReportRequest { pages: Some(resistant.clone()), ..request(&[Part::Pages]) };
    assert_eq!(Content::of(farm(), &few, &Quiet).unwrap().pages.len(), resistant.len());
}

#[test]
fn farms_stand_beside_each_other_without_names() {
    let report = Report::make(farm(), &request(&[Part::Farms]), &Quiet).unwrap();
    let all = text(&seen(&report.pdf().unwrap().0)).join("\n");
    assert_eq!(report.content.hidden.len(), 3);
    for farm in farm().farms.values() {
        assert!(!all.contains(&farm.name), "{all}");
    }
    for field in farm().fields.values() {
        assert!(!all.contains(&field.name), "{}", field.name);
    }
    let lost = |farm: &awn_core::report::content::HiddenFarm| farm.classes.map(|[rrr, rr, ..]| rrr + rr);
    assert!(report.content.hidden.windows(2).all(|pair| lost(&pair[0]) >= lost(&pair[1])));
    for farm in &report.content.hidden {
        assert!((farm.classes.unwrap().iter().sum::<f64>() - 1.0).abs() < 1e-9);
        let row = line(&all, &[&format!("Farm {}", farm.letter), &format!("{:.1}", 100.0 * farm.tested)]);
        assert!(figures(row).contains(&format!("{:.1}", 100.0 * farm.due).as_str()), "{row}");
    }
}

#[test]
fn two_harvests_side_by_side_say_what_was_known_in_each() {
    let beside = SEASON - 3;
    let asked = ReportRequest { beside: Some(beside), ..request(&[Part::Years]) };
    let content = Content::of(farm(), &asked, &Quiet).unwrap();
    let years = content.years.as_ref().unwrap();
    let then = Facts::of(farm(), beside);
    for class in &years.then {
        assert_eq!(class.fields, then.rows.iter().filter(|row| row.worst == class.rating).count(), "{class:?}");
    }
    assert_eq!(years.now, content.classes);
    for change in &years.changed {
        assert_ne!(change.then.map(|t| t.rating), change.now.map(|t| t.rating));
        assert!(change.then.is_none_or(|then| then.year <= beside));
    }
    let report = Report::make(farm(), &asked, &Quiet).unwrap();
    let all = text(&seen(&report.pdf().unwrap().0)).join("\n");
    for (class, now) in years.then.iter().zip(&years.now) {
        let meaning = class.rating.map_or("not tested: nothing known", Rating::meaning);
        let wanted = [class.fields.to_string(), units::ha(class.area_m2), now.fields.to_string(), units::ha(now.area_m2)];
        assert_eq!(figures(line(&all, &[meaning])), wanted.each_ref().map(String::as_str), "{meaning}");
    }
}

/// A farm of one square field without any data.
fn bare(name: &str) -> Records {
    let mut records = Records::default();
    let farm = Farm { id: FarmId::new(), business: String::new(), name: "Home".into() };
    let side = |x: f64, y: f64| geo::Coord { x: -0.4 + x, y: 52.5 + y };
    let ring = vec![side(0.0, 0.0), side(0.003, 0.0), side(0.003, 0.002), side(0.0, 0.002), side(0.0, 0.0)];
    let shape = geo::MultiPolygon(vec![geo::Polygon::new(ring.into(), vec![])]);
    records.put(Record::Field(Field::new(farm.id, name, shape)));
    records.put(Record::Farm(farm));
    records
}

#[test]
fn fields_without_data_and_with_odd_names_make_whole_pages() {
    let long = "Hrólfs-Ýtri-Ærlækjarsel über den Großmühläckern hinter Þverá";
    assert_eq!(long.chars().count(), 60);
    for name in [
        long,
        "Llanfairpwllgwyngyllgogerychwyrndrobwllllantysiliogogogochgoch",
        "田んぼ 7",
        "#set page() *x* $ <a> @b \\ \"q\" [ ]",
    ] {
        let report =
            Report::make(&bare(name), &ReportRequest { parts: Part::ALL.into(), ..ReportRequest::new(2027, DAY) }, &Quiet);
        let report = report.unwrap_or_else(|error| panic!("{name}: {error}"));
        let (pdf, archival) = report.pdf().unwrap();
        assert_eq!(archival, Archival::A2a, "{name}");
        let all = text(&seen(&pdf)).join("\n");
        assert!(all.contains("Never tested"), "{name}: {all}");
        if name.is_ascii() && name.contains(' ') {
            assert!(all.contains(name), "{all}");
        }
    }
    // Nothing at all is no fault either.
    let report = Report::make(&Records::default(), &whole(), &Quiet).unwrap();
    let all = text(&seen(&report.pdf().unwrap().0)).join("\n");
    assert!(all.contains("There is no field with a boundary in harvest"), "{all}");
}

#[test]
fn a_picture_on_the_cover_is_used_or_refused_in_words() {
    let icon = std::fs::read(awn_tests::project_path("assets/icon/awn-128.png")).unwrap();
    let with = |bytes: Vec<u8>| {
        let cover = Some(std::sync::Arc::new(Cover { ending: "png".into(), bytes }));
        Report::make(&bare("Long Acre"), &ReportRequest { cover, ..request(&[Part::Cover]) }, &Quiet)
    };
    assert_eq!(with(icon.clone()).unwrap().pages.count(), 1);
    assert!(matches!(with(b"no picture".to_vec()), Err(ReportError::Picture(_))));
    let broken = with(icon[..200].to_vec()).map(|report| report.pages.count());
    assert!(broken.unwrap_err().to_string().contains("picture"));
}

#[test]
fn words_of_another_language_take_the_place_of_the_english() {
    let words = Words::from_json(r#"{"summary": "Zusammenfassung", "lang": "de", "region": "de"}"#).unwrap();
    let report = Report::make(&bare("Langer Acker"), &ReportRequest { words, ..request(&[Part::Summary]) }, &Quiet).unwrap();
    let seen = seen(&report.pdf().unwrap().0);
    assert!(text(&seen)[0].contains("Zusammenfassung"));
    assert_eq!(seen["lang"], json!("de-DE"));
}

#[test]
fn every_word_of_the_template_is_in_the_list() {
    let template = std::fs::read_to_string(awn_tests::project_path("assets/pages/report.typ")).unwrap();
    let words = Words::english();
    let keys: Vec<&str> = template.split("w(\"").skip(1).filter_map(|rest| rest.split('"').next()).collect();
    assert!(keys.len() > 60);
    for key in keys {
        assert!(words.all().contains_key(key), "{key}");
    }
}

/// Asks to stop after so many steps.
struct Stop(usize, std::sync::atomic::AtomicUsize);

impl Progress for Stop {
    fn step(&self, _done: usize, _total: usize) {
        self.1.fetch_add(1, std::sync::atomic::Ordering::Relaxed);
    }

    fn cancelled(&self) -> bool {
        self.1.load(std::sync::atomic::Ordering::Relaxed) > self.0
    }
}

#[test]
fn a_report_stops_when_asked_to() {
    let stopped = Report::make(farm(), &request(&[Part::Pages]), &Stop(3, 0.into()));
    assert!(matches!(stopped, Err(ReportError::Cancelled(_))));
}
