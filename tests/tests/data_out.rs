//! All data for other programs, with a dictionary of every column; and the copy to share, which gives no place away.

#![allow(clippy::unwrap_used, clippy::panic)] // helpers of tests: stopping with a sentence is the answer

mod support;

use std::collections::BTreeSet;
use std::io::Read as _;
use std::sync::OnceLock;

use awn_core::exchange::{DataFormat, Extent, everything, meaning, zipped};
use awn_core::model::{Record, Records};
use awn_core::progress::Quiet;
use awn_core::project::{Project, data_tables};
use awn_core::report::{Colouring, Dress, Layer, Layers, MapRequest, View, draw_map};
use awn_tests::reference;
use serde_json::json;
use support::Folder;

/// The sample farm with a plan, and with words in every place where a person can type some.
fn farm() -> &'static Records {
    static FARM: OnceLock<Records> = OnceLock::new();
    FARM.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap();
        let path = awn::demo::write_sample_farm(folder.path(), &Quiet).unwrap();
        let mut records = (**Project::open(&path).unwrap().records()).clone();
        let year = awn_sample_farm::SEASON;
        let due = awn_core::season::due(&records, year).remove(0).field;
        let plan = awn_core::stops::propose(&records, due, year, &records.settings.plan, &Quiet).unwrap();
        records.put(Record::Plan(plan));
        for field in records.fields.clone().into_values() {
            records.put(Record::Field(awn_core::model::Field { note: "Xnotex by the old mill".into(), ..(*field).clone() }));
        }
        for sample in records.samples.clone().into_values() {
            records.put(Record::Sample(awn_core::model::Sample { note: "Xnotex".into(), ..(*sample).clone() }));
        }
        for spray in records.sprays.clone().into_values() {
            records
                .put(Record::Spray(awn_core::model::Spray { effect: "Xeffectx at the church".into(), ..(*spray).clone() }));
        }
        for crop in records.crops.clone().into_values().take(2) {
            records.put(Record::Crop(awn_core::model::Crop { crop: "Xcropx of Mrs Grey".into(), ..(*crop).clone() }));
        }
        for assay in records.assays.clone().into_values() {
            let assay =
                awn_core::model::Assay { laboratory: "Xlabx".into(), comment: "Xcommentx".into(), ..(*assay).clone() };
            records.put(Record::Assay(assay));
        }
        for result in records.results.clone().into_values() {
            let dose = Some("Xdosex".into());
            records.put(Record::Result(awn_core::model::TestResult {
                comment: "Xcommentx".into(),
                dose,
                ..(*result).clone()
            }));
        }
        records
    })
}

const FORMATS: [DataFormat; 3] = [DataFormat::GeoPackage, DataFormat::Csv, DataFormat::Xlsx];

/// Every byte of an export as a reader finds it: archives unpacked.
fn unpacked(files: &[(String, Vec<u8>)]) -> Vec<u8> {
    let mut all = Vec::new();
    for (name, bytes) in files {
        all.extend_from_slice(name.as_bytes());
        all.extend_from_slice(bytes);
        if bytes.starts_with(b"PK") {
            let mut archive = zip::ZipArchive::new(std::io::Cursor::new(bytes)).unwrap();
            for at in 0..archive.len() {
                archive.by_index(at).unwrap().read_to_end(&mut all).unwrap();
            }
        }
    }
    all
}

/// Bytes as text in small letters, whatever they are, so that words can be looked for.
fn as_text(all: &[u8]) -> String {
    String::from_utf8_lossy(&all.to_ascii_lowercase()).into_owned()
}

#[test]
fn every_column_is_in_the_dictionary() {
    for table in data_tables(farm()) {
        for name in std::iter::once("id").chain(table.columns.iter().map(|(name, _)| *name)) {
            let (_, said) = meaning(table.name, name).unwrap_or_else(|| {
                panic!("{}.{name} has no row in assets/tables/data_dictionary.csv; give it one", table.name)
            });
            assert!(said.len() > 3, "{}.{name}", table.name);
        }
    }
}

#[test]
fn everything_is_in_each_format_and_others_read_it() {
    let folder = Folder::new();
    let tables = data_tables(farm());
    for format in FORMATS {
        let files = everything(farm(), Extent::Everything, format).unwrap();
        assert!(files == everything(farm(), Extent::Everything, format).unwrap(), "{format:?} differs the second time");
        let all = as_text(&unpacked(&files));
        for what in ["xnotex", "xeffectx", "xcropx", "xlabx", "xdosex", "ravel hill"] {
            assert!(all.contains(what), "{what} is missing in {format:?}");
        }
        if format == DataFormat::Csv {
            let rows = |name: &str| {
                let (_, bytes) = files.iter().find(|(file, _)| *file == format!("{name}.csv")).unwrap();
                csv_rows(bytes)
            };
            for table in &tables {
                assert_eq!(rows(table.name), table.rows.len(), "{}", table.name);
            }
            assert_eq!(rows("ratings"), farm().results.len());
            assert!(zipped(&files).unwrap().starts_with(b"PK"));
        }
    }
    let (_, bytes) = everything(farm(), Extent::Everything, DataFormat::GeoPackage).unwrap().remove(0);
    let seen = reference::run("geopackage", &json!({ "path": folder.write("all.gpkg", bytes) }));
    assert_eq!(seen["errors"], json!([]));
    for table in tables.iter().filter(|table| !table.rows.is_empty()) {
        assert_eq!(seen["layers"][table.name]["count"], json!(table.rows.len()), "{}", table.name);
    }
    let fields = &seen["layers"]["fields"]["area_m2"];
    let theirs: f64 = fields.as_array().unwrap().iter().map(|area| area.as_f64().unwrap()).sum();
    let ours: f64 = farm().fields.values().map(|field| field.area_m2()).sum();
    assert!((ours / theirs - 1.0).abs() < 1e-6, "{ours} {theirs}");
}

/// Records of a CSV file, with line feeds inside quotes.
fn csv_rows(bytes: &[u8]) -> usize {
    let mut inside = false;
    let mut rows = 0_usize;
    for byte in bytes {
        match byte {
            b'"' => inside = !inside,
            b'\n' if !inside => rows += 1,
            _ => {}
        }
    }
    rows - 1
}

#[test]
fn the_copy_to_share_gives_no_place_away() {
    let records = farm();
    let mut words: BTreeSet<String> =
        ["Xnotex", "Xeffectx", "Xcropx", "Xlabx", "Xcommentx", "Xdosex", "mill", "church"].map(str::to_owned).into();
    words.extend(records.farms.values().flat_map(|farm| [farm.name.clone(), farm.business.clone()]));
    words.extend(records.fields.values().map(|field| field.name.clone()));
    words.extend(records.gates.values().map(|gate| gate.name.clone()));
    words.extend(records.no_go.values().map(|area| area.reason.clone()));
    words.extend(records.samples.values().map(|sample| sample.code.clone()));
    words.extend(records.surveys.values().map(|survey| survey.source.clone()));
    words.extend(records.assays.values().map(|assay| assay.source.clone()));
    words.extend(records.standards.values().map(|standard| standard.name.clone()));
    words.extend([records.settings.name.clone()]);
    words.extend(records.iter().map(|record| record.id().to_string()));
    words.retain(|word| word.trim().len() > 2 && !["susceptible", "results", "sample"].contains(&word.as_str()));
    // Every corner as text, to a metre, and as the eight bytes of a number; that no column holds coarser ones is seen below.
    let (mut places, mut numbers) = (BTreeSet::new(), BTreeSet::new());
    let mut place = |value: f64| {
        places.insert(format!("{value:.5}"));
        numbers.extend([value.to_le_bytes(), value.to_be_bytes()]);
    };
    for field in records.fields.values() {
        for corner in geo::CoordsIter::coords_iter(&field.boundary) {
            place(corner.x);
            place(corner.y);
        }
    }
    for gate in records.gates.values() {
        place(gate.position.x);
        place(gate.position.y);
    }
    let areas: Vec<String> = records.fields.values().map(|field| format!("{:.2}", field.area_m2() / 1e4)).collect();
    for format in FORMATS {
        let files = everything(records, Extent::Shared, format).unwrap();
        let bytes = unpacked(&files);
        let all = as_text(&bytes);
        for word in &words {
            assert!(!all.contains(&word.to_lowercase()), "“{word}” is in the copy to share, {format:?}");
        }
        for position in &places {
            assert!(!all.contains(position), "a position is in the copy to share, {format:?}: {position}");
        }
        let number = bytes.windows(8).find(|window| numbers.contains(*window));
        assert_eq!(number, None, "a position is in the copy to share, {format:?}");
        if format == DataFormat::Csv {
            let (_, fields) = files.iter().find(|(name, _)| name == "shared_fields.csv").unwrap();
            let fields_text = as_text(fields);
            assert!(areas.iter().all(|area| !fields_text.contains(area.as_str())), "areas tell a field");
            for (name, bytes) in files.iter().filter(|(name, _)| name != "data_dictionary.csv") {
                let heads = String::from_utf8_lossy(bytes).lines().next().unwrap_or_default().to_owned();
                for hint in
                    ["lon", "lat", "east", "north", "shape", "geom", "name", "code", "note", "date", "source", "laboratory"]
                {
                    assert!(!heads.split(',').any(|head| head.contains(hint)), "{name}: {heads}");
                }
            }
            let rows = |name: &str| csv_rows(&files.iter().find(|(file, _)| file == name).unwrap().1);
            assert_eq!(rows("shared_results.csv"), records.results.len());
            assert_eq!(rows("shared_fields.csv"), records.fields.len());
        }
    }
}

#[test]
fn a_view_of_the_window_is_drawn_to_scale_and_cut_at_its_edge() {
    let field = farm().fields_named("Ravel Hill", Some(awn_sample_farm::SEASON)).remove(0);
    let bounds = awn_core::geometry::bounds(&field.boundary).unwrap();
    let layers = Layers::of(&[Layer::Fills, Layer::Outlines, Layer::Gates, Layer::Labels]);
    let view = View { bounds, layers, patterns: false };
    let request = MapRequest {
        colouring: Colouring::Rating,
        of: awn_core::rating::RatingOf::Worst,
        year: awn_sample_farm::SEASON,
        fields: None,
        title: String::new(),
        size_mm: (297.0, 210.0),
    };
    for dress in [Dress { view: Some(view.clone()), ..Dress::default() }, Dress { view: Some(view), ..Dress::figure() }] {
        let drawing = draw_map(farm(), &request, &dress);
        let document = roxmltree::Document::parse(&drawing.svg).unwrap();
        let of = |class: &str| document.descendants().find(|node| node.attribute("class") == Some(class)).unwrap();
        let bar = of("scale-bar");
        let numbers = |path: &str| -> Vec<f64> {
            path.split(['M', 'L', 'Z', ' ']).filter(|word| !word.is_empty()).map(|word| word.parse().unwrap()).collect()
        };
        let ends = numbers(bar.attribute("d").unwrap());
        let mm_per_m = (ends[2] - ends[0]) / bar.attribute("data-metres").unwrap().parse::<f64>().unwrap();
        let drawn = document
            .descendants()
            .find(|node| node.attribute("data-name") == Some("Ravel Hill"))
            .unwrap_or_else(|| panic!("the field is not drawn"));
        let ring: Vec<f64> = numbers(drawn.attribute("d").unwrap().split('Z').next().unwrap());
        let corners: Vec<(f64, f64)> = ring.chunks(2).map(|pair| (pair[0], pair[1])).collect();
        let next = corners.iter().cycle().skip(1);
        let twice: f64 = corners.iter().zip(next).map(|(a, b)| a.0 * b.1 - a.1 * b.0).sum();
        let ground = field.boundary.0[0].exterior().clone();
        let ground = awn_core::geometry::geodesic_area_m2(&geo::MultiPolygon(vec![geo::Polygon::new(ground, vec![])]));
        let paper = (twice / 2.0).abs() / (mm_per_m * mm_per_m);
        assert!((paper / ground - 1.0).abs() < 0.005, "{paper} for {ground}");
        // Neighbours are drawn and cut at the neatline, farther fields are left out.
        let fields = document.descendants().filter(|node| node.attribute("class") == Some("field")).count();
        assert!((2..40).contains(&fields), "{fields}");
        assert!(of("neatline").attribute("d").is_some() && drawing.svg.contains("clip-path=\"url(#view)\""));
    }
}
