//! Rasters from files, against rasterio (GDAL), and means over small pieces of ground, against rasterio and shapely.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers outside test functions may fail loudly too

mod support;

use awn_core::crs::Crs;
use awn_core::formats::raster::{self, Raster};
use awn_core::problem::{Problems, Severity};
use awn_tests::reference;
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use serde_json::{Value, json};
use std::path::Path;
use support::Folder;

/// Pixels of 2 m beside the Wash, on the British National Grid.
const NORTH_UP: [f64; 6] = [2.0, 0.0, 512_345.5, 0.0, -2.0, 298_765.25];
/// Pixels of 3 m by 2 m turned by about 17 degrees.
const TURNED: [f64; 6] = [2.868, 0.585, 512_345.5, 0.877, -1.912, 298_765.25];
/// Pixels in degrees.
const DEGREES: [f64; 6] = [2.5e-5, 0.0, -0.4, 0.0, -1.75e-5, 52.5];

fn read(path: &Path) -> (Option<Raster>, Problems) {
    let mut problems = Problems::new();
    let raster = raster::read(path, &mut problems);
    assert_eq!(raster.is_none(), problems.has_errors(), "{}: {problems:?}", path.display());
    (raster, problems)
}

/// Reads bytes as if they stood in a file of this name, where nothing stands beside it.
fn read_bytes(name: &str, bytes: Vec<u8>) -> Option<Raster> {
    let mut problems = Problems::new();
    let raster = raster::read_bytes(Path::new(name), bytes, &mut problems);
    assert_eq!(raster.is_none(), problems.has_errors(), "{name}: {problems:?}");
    raster
}

/// A file that the reference writes, 53 pixels wide and 41 high unless the case says otherwise.
fn case(folder: &Folder, name: &str, more: impl Into<Value>) -> Value {
    let mut case = json!({ "path": folder.path(name), "columns": 53, "rows": 41, "dtype": "float32", "transform": NORTH_UP,
        "crs": "EPSG:27700" });
    case.as_object_mut().unwrap().extend(more.into().as_object().unwrap().clone());
    case
}

fn assert_same(name: &str, ours: &Raster, theirs: &Value) {
    assert_eq!((json!(ours.columns), json!(ours.rows)), (theirs["columns"].clone(), theirs["rows"].clone()), "{name}");
    let transform: Vec<f64> = serde_json::from_value(theirs["transform"].clone()).unwrap();
    for (own, other) in ours.to_world.iter().zip(&transform) {
        assert!((own - other).abs() <= 1e-9, "{name}: {:?}, not {transform:?}", ours.to_world);
    }
    let to_pixel = ours.to_pixel().unwrap();
    for (corner, (x, y)) in ours.corners().iter().zip([(0, 0), (ours.columns, 0), (ours.columns, ours.rows), (0, ours.rows)])
    {
        let at = to_pixel.apply(*corner);
        assert!((at.x - x as f64).hypot(at.y - y as f64) < 1e-6, "{name}: {at:?}");
    }
    let values: Vec<Option<f64>> = serde_json::from_value(theirs["values"].clone()).unwrap();
    assert_eq!(ours.values.len(), values.len(), "{name}");
    for (index, (own, other)) in ours.values.iter().zip(&values).enumerate() {
        let same = other.map_or(own.is_nan(), |other| (own - other).abs() <= 1e-9);
        assert!(same, "{name}: value {index} is {own}, not {other:?}");
    }
}

fn epsg(crs: Option<&Crs>) -> Option<u32> {
    crs.map(|crs| match crs {
        Crs::Wgs84 => 4326,
        Crs::Epsg(code) => *code,
        Crs::Wkt(text) => panic!("no code for {text}"),
    })
}

/// Reads files that the reference wrote and compares; `loud` may be spoken of, the rest are read without a word.
fn check(cases: &[Value], loud: bool) {
    let answers = reference::run("raster", &json!({ "write": cases }));
    for (case, theirs) in cases.iter().zip(answers.as_array().unwrap()) {
        let path = Path::new(case["path"].as_str().unwrap());
        let name = path.file_name().unwrap().to_string_lossy();
        let (ours, problems) = read(path);
        let ours = ours.unwrap_or_else(|| panic!("{name}: {problems:?}"));
        assert_same(&name, &ours, theirs);
        let wanted = case["crs"].as_str().map(|system| system.trim_start_matches("EPSG:").parse().unwrap());
        assert_eq!(epsg(ours.crs.as_ref()), wanted, "{name}");
        assert_eq!(!problems.list.is_empty(), loud, "{name}: {problems:?}");
    }
}

#[test]
fn values_as_they_are_stored() {
    let folder = Folder::new();
    let mut cases = Vec::new();
    let tiles = json!({ "tiled": true, "blockxsize": 16, "blockysize": 32 });
    let strips = json!({ "blockysize": 7 });
    for dtype in ["uint8", "int8", "uint16", "int16", "uint32", "int32", "uint64", "int64", "float32", "float64"] {
        for (shape, shaped) in [("tiles", &tiles), ("strips", &strips)] {
            for packing in ["none", "lzw", "deflate", "packbits"] {
                let mut options = shaped.clone();
                options["compress"] = json!(packing);
                cases.push(case(
                    &folder,
                    &format!("{dtype}-{shape}-{packing}.tif"),
                    json!({ "dtype": dtype, "options": options }),
                ));
                // Differences between neighbours; of floating point numbers also byte by byte.
                let predictors: &[u8] = if dtype.starts_with("float") { &[2, 3] } else { &[2] };
                for predictor in predictors.iter().filter(|_| matches!(packing, "lzw" | "deflate")) {
                    options["predictor"] = json!(predictor);
                    let name = format!("{dtype}-{shape}-{packing}-{predictor}.tif");
                    cases.push(case(&folder, &name, json!({ "dtype": dtype, "options": options })));
                }
            }
        }
    }
    for (name, more) in [
        ("big.tif", json!({ "options": { "bigtiff": "YES", "tiled": true, "blockxsize": 16, "blockysize": 16 } })),
        ("big-endian.tif", json!({ "options": { "endianness": "BIG", "compress": "lzw", "predictor": 3 } })),
        ("big-endian-16.tif", json!({ "dtype": "int16", "options": { "endianness": "BIG", "bigtiff": "YES" } })),
        ("half.tif", json!({ "options": { "nbits": 16 } })),
        ("bits-1.tif", json!({ "dtype": "uint8", "modulus": 2, "options": { "nbits": 1, "compress": "deflate" } })),
        ("bits-3.tif", json!({ "dtype": "uint8", "modulus": 8, "options": { "nbits": 3 } })),
        (
            "bits-4.tif",
            json!({ "dtype": "uint8", "modulus": 16, "options": { "nbits": 4, "tiled": true, "blockxsize": 16, "blockysize": 16 } }),
        ),
        ("white.tif", json!({ "dtype": "uint8", "options": { "photometric": "MINISWHITE" } })),
        ("white-16.tif", json!({ "dtype": "uint16", "options": { "photometric": "MINISWHITE", "compress": "lzw" } })),
        (
            "sparse.tif",
            json!({ "only_corner": true, "nodata": "-1", "options": { "sparse_ok": true, "tiled": true, "blockxsize": 16, "blockysize": 16, "compress": "deflate" } }),
        ),
        (
            "sparse-0.tif",
            json!({ "only_corner": true, "options": { "sparse_ok": true, "tiled": true, "blockxsize": 16, "blockysize": 16 } }),
        ),
    ] {
        cases.push(case(&folder, name, more));
    }
    check(&cases, false);
}

#[test]
fn no_data_is_no_value() {
    let folder = Folder::new();
    let with = |dtype: &str, nodata: &str| {
        case(
            &folder,
            &format!("{dtype}{nodata}.tif"),
            json!({ "dtype": dtype, "nodata": nodata, "options": { "compress": "lzw" } }),
        )
    };
    check(
        &[
            with("float32", "-9999"),
            with("float32", "nan"),
            with("float64", "nan"),
            with("float32", "-3.4028234663852886e38"),
            with("float32", "0.1"),
            with("float64", "-1.7976931348623157e308"),
            with("int16", "-32768"),
            with("uint8", "255"),
            with("uint8", "0"),
            with("int32", "-2147483648"),
        ],
        false,
    );
}

#[test]
fn where_it_lies_and_in_which_system() {
    let folder = Folder::new();
    let ties: Vec<[f64; 4]> = [[0.0, 0.0], [53.0, 0.0], [53.0, 41.0], [0.0, 41.0], [20.0, 30.0]]
        .iter()
        .zip([0.3, -0.2, 0.1, 0.25, -0.3])
        .map(|([c, r], off)| {
            let [a, b, x, d, e, y] = TURNED;
            [*c, *r, a * c + b * r + x + off, d * c + e * r + y - off]
        })
        .collect();
    let mut cases = Vec::new();
    for point in [false, true] {
        let name = |what: &str| format!("{what}-{}.tif", if point { "point" } else { "area" });
        cases.push(case(&folder, &name("north-up"), json!({ "point": point })));
        cases.push(case(&folder, &name("turned"), json!({ "point": point, "transform": TURNED })));
        cases.push(case(
            &folder,
            &name("south-up"),
            json!({ "point": point, "transform": [2.0, 0.0, 512_345.5, 0.0, 2.0, 298_765.25] }),
        ));
        let mut tied = case(&folder, &name("tied"), json!({ "point": point, "gcps": ties }));
        tied.as_object_mut().unwrap().remove("transform");
        cases.push(tied);
        for system in ["EPSG:32631", "EPSG:25832", "EPSG:3857"] {
            cases.push(case(&folder, &name(&system.replace(':', "")), json!({ "point": point, "crs": system })));
        }
        for system in ["EPSG:4326", "EPSG:4258"] {
            cases.push(case(
                &folder,
                &name(&system.replace(':', "")),
                json!({ "point": point, "crs": system, "transform": DEGREES }),
            ));
        }
        cases.push(case(&folder, &name("no-system"), json!({ "point": point, "crs": null })));
    }
    check(&cases, false);
}

#[test]
fn more_bands_and_stored_values_are_spoken_of() {
    let folder = Folder::new();
    check(
        &[
            case(
                &folder,
                "pixel.tif",
                json!({ "bands": 3, "options": { "interleave": "pixel", "compress": "lzw", "predictor": 2, "dtype": "int16" } }),
            ),
            case(
                &folder,
                "band.tif",
                json!({ "bands": 3, "options": { "interleave": "band", "tiled": true, "blockxsize": 16, "blockysize": 16 } }),
            ),
            case(
                &folder,
                "colour.tif",
                json!({ "bands": 3, "dtype": "uint8", "options": { "photometric": "RGB", "interleave": "pixel" } }),
            ),
            case(
                &folder,
                "alpha.tif",
                json!({ "bands": 4, "dtype": "uint8", "options": { "photometric": "RGB", "alpha": "YES", "compress": "deflate", "predictor": 2 } }),
            ),
            case(&folder, "stored.tif", json!({ "dtype": "int16", "scale": 0.25, "offset": 3.0, "nodata": "-7" })),
        ],
        true,
    );
    let (_, problems) = read(&folder.path("pixel.tif"));
    assert!(problems.list[0].what.contains("3 bands") && problems.list[0].severity == Severity::Note, "{problems:?}");
    let (_, problems) = read(&folder.path("colour.tif"));
    assert!(
        problems.list[0].what.contains("colour picture") && problems.list[0].severity == Severity::Warning,
        "{problems:?}"
    );
}

#[test]
fn a_mask_is_spoken_of() {
    let folder = Folder::new();
    check(&[case(&folder, "mask.tif", json!({ "mask": true, "options": { "compress": "deflate" } }))], true);
    let (_, problems) = read(&folder.path("mask.tif"));
    assert!(problems.list[0].what.contains("mask") && problems.list[0].severity == Severity::Warning, "{problems:?}");
}

#[test]
fn systems_that_stand_elsewhere_or_nowhere() {
    let folder = Folder::new();
    // The British National Grid by its numbers: as keys of the writer's own, and as well-known text in a citation.
    let grid = "+proj=tmerc +lat_0=49 +lon_0=-2 +k=0.9996012717 +x_0=400000 +y_0=-100000 +ellps=airy +units=m";
    let cases = [
        case(&folder, "own.tif", json!({ "crs": grid })),
        case(&folder, "citation.tif", json!({ "crs": grid, "options": { "geotiff_keys_flavor": "ESRI_PE" } })),
        case(&folder, "beside.tif", json!({ "crs": null })),
        case(&folder, "beside.asc", json!({ "crs": "EPSG:27700", "dtype": "int16" })),
    ];
    reference::run("raster", &json!({ "write": cases }));
    std::fs::remove_file(folder.path("beside.asc")).unwrap();
    let crs = |name: &str| read(&folder.path(name)).0.unwrap().crs;
    assert_eq!((crs("own.tif"), crs("citation.tif")), (None, Some(Crs::Epsg(27700))));
    assert_eq!(crs("beside.tif"), Some(Crs::Epsg(27700)), "from beside.prj");
}

#[test]
fn what_holds_no_numbers_is_refused_and_says_why() {
    let folder = Folder::new();
    let bent: Vec<[f64; 4]> =
        vec![[0.0, 0.0, 0.0, 100.0], [50.0, 0.0, 100.0, 100.0], [0.0, 40.0, 0.0, 20.0], [50.0, 40.0, 120.0, 35.0]];
    let mut tied = case(&folder, "bent.tif", json!({ "gcps": bent }));
    tied.as_object_mut().unwrap().remove("transform");
    let mut nowhere = case(&folder, "nowhere.tif", json!({ "crs": null }));
    nowhere.as_object_mut().unwrap().remove("transform");
    let cases = [
        (case(&folder, "palette.tif", json!({ "dtype": "uint8", "options": { "photometric": "PALETTE" } })), "colours"),
        (case(&folder, "zstd.tif", json!({ "options": { "compress": "zstd" } })), "ZSTD"),
        (case(&folder, "jpeg.tif", json!({ "dtype": "uint8", "options": { "compress": "jpeg" } })), "JPEG"),
        (case(&folder, "complex.tif", json!({ "dtype": "complex64" })), "kind that is not read"),
        (tied, "tie points"),
        (nowhere, "where on the ground"),
    ];
    let written: Vec<&Value> = cases.iter().map(|(case, _)| case).collect();
    reference::run("raster", &json!({ "write": written }));
    for (case, words) in &cases {
        let path = Path::new(case["path"].as_str().unwrap());
        let (raster, problems) = read(path);
        let error = problems.errors().next().unwrap_or_else(|| panic!("{} was read: {raster:?}", path.display()));
        assert!(error.what.contains(words) && !error.hint.is_empty(), "{error}");
        assert!(error.place.contains(path.file_name().unwrap().to_str().unwrap()), "{error}");
    }
    // A world file beside it says where; its numbers are of the middle of the first pixel.
    folder.write("nowhere.tfw", "2.0\n0.0\n0.0\n-2.0\n512346.5\n298764.25\n");
    assert_eq!(read(&folder.path("nowhere.tif")).0.unwrap().to_world, NORTH_UP);
}

#[test]
fn ascii_grids() {
    let folder = Folder::new();
    let cases = [
        case(&folder, "a.asc", json!({ "dtype": "float32", "nodata": "-9999" })),
        case(
            &folder,
            "b.asc",
            json!({ "dtype": "int32", "crs": "EPSG:4326", "transform": [1e-4, 0.0, -0.4, 0.0, -1e-4, 52.5] }),
        ),
        case(&folder, "c.asc", json!({ "dtype": "int16", "crs": null, "nodata": "0" })),
    ];
    check(&cases, false);

    let wanted = [1.0, f64::NAN, 3.5, 4.0, 5.0, 6.0];
    for (name, text) in [
        ("usual.asc", "ncols 3\nnrows 2\nxllcorner 100\nyllcorner 200\ncellsize 5\nNODATA_value -1\n1 -1 3.5\n4 5 6\n"),
        (
            "shuffled.ASC",
            "CELLSIZE 5\r\nYllCenter 202.5\r\nXLLCENTER 102.5\r\nNRows 2\r\nNCOLS 3\r\n1 -9999 3.5 4\r\n5 6\r\n",
        ),
        ("comma.txt", "ncols\t3\nnrows\t2\nxllcorner\t100,0\nyllcorner\t200,0\ncellsize\t5,0\n1 -9999 3,5 4 5 6e0"),
    ] {
        let raster = read(&folder.write(name, text)).0.unwrap();
        assert_eq!((raster.columns, raster.rows, raster.crs.clone()), (3, 2, None), "{name}");
        assert_eq!(raster.to_world, [5.0, 0.0, 100.0, 0.0, -5.0, 210.0], "{name}");
        assert!(
            raster.values.iter().zip(wanted).all(|(a, b)| a == &b || a.is_nan() && b.is_nan()),
            "{name}: {:?}",
            raster.values
        );
    }
    let head = "ncols 3\nnrows 2\nxllcorner 100\nyllcorner 200\ncellsize 5\n";
    for (text, words) in [
        (format!("{head}1 2 3\n4 x 6"), "line 7: “x” is no number"),
        (format!("{head}1 2 3\n4 5"), "5 values"),
        (format!("{head}1 2 3\n4 5 6\n7"), "line 8: there are more values"),
        (head.replace("yllcorner 200\n", "") + "1 2 3 4 5 6", "yllcenter or yllcorner"),
        (head.replace("cellsize 5", "cellsize 0") + "1 2 3 4 5 6", "no lengths"),
        (head.replace("ncols 3", "ncols 2.5") + "1 2 3 4 5 6", "no count"),
        (head.replace("ncols 3", "ncols 30000000000") + "1", "100 million"),
        (head.replace("nrows 2", "nrows x") + "1", "line 2: nrows is not followed by a number"),
        ("not a grid".to_owned(), "does not begin"),
        (String::new(), "does not begin"),
    ] {
        let (_, problems) = read(&folder.write("wrong.asc", &text));
        let error = problems.errors().next().unwrap_or_else(|| panic!("read: {text}"));
        assert!(error.what.contains(words) && !error.hint.is_empty(), "{error}");
    }
}

/// Damage to files: cut off everywhere, and bytes changed. Whatever comes out, nothing stops and nothing takes the memory.
#[test]
fn damaged_files_are_refused_or_read_but_never_stop_the_program() {
    let folder = Folder::new();
    let small = |name: &str, options: Value| {
        case(
            &folder,
            name,
            json!({ "columns": 19, "rows": 17, "nodata": "3", "scale": 2.0, "offset": 1.0, "dtype": "int16", "options": options }),
        )
    };
    let cases = [
        small("none.tif", json!({})),
        small("lzw.tif", json!({ "compress": "lzw", "predictor": 2 })),
        small(
            "deflate.tif",
            json!({ "compress": "deflate", "tiled": true, "blockxsize": 16, "blockysize": 16, "bigtiff": "YES" }),
        ),
        small("packbits.tif", json!({ "compress": "packbits", "endianness": "BIG" })),
        case(
            &folder,
            "bands.tif",
            json!({ "columns": 19, "rows": 17, "bands": 2, "options": { "compress": "lzw", "predictor": 3, "interleave": "band" } }),
        ),
        case(&folder, "grid.asc", json!({ "columns": 9, "rows": 7 })),
    ];
    reference::run("raster", &json!({ "write": cases }));
    let mut random = ChaCha8Rng::seed_from_u64(7);
    let mut refused = 0;
    for case in &cases {
        let whole = std::fs::read(case["path"].as_str().unwrap()).unwrap();
        let name = Path::new(case["path"].as_str().unwrap()).file_name().unwrap().to_string_lossy().into_owned();
        let sound = read(Path::new(case["path"].as_str().unwrap())).0.unwrap();
        for length in 0..whole.len() - 30 {
            let cut = read_bytes(&name, whole[..length].to_vec());
            // What is read nevertheless has all of the first band: only the second of the file with two is cut off.
            if let Some(cut) = cut {
                assert_eq!(name, "bands.tif", "read from {length} of {} bytes", whole.len());
                assert_eq!(cut.values, sound.values, "{length} of {} bytes", whole.len());
            }
        }
        // Every number of the header and the directory as small and as large as it goes.
        for at in 0..whole.len().min(420) - 8 {
            for extreme in
                [&[0][..], &[255], &[0; 4], &[255; 4], &[255, 255, 255, 127], &[127, 255, 255, 255], &[1, 0, 0, 0]]
            {
                let mut bytes = whole.clone();
                bytes[at..at + extreme.len()].copy_from_slice(extreme);
                refused += usize::from(read_bytes(&name, bytes).is_none());
            }
        }
        for _ in 0..2500 {
            let mut bytes = whole.clone();
            for _ in 0..random.random_range(1..6) {
                // Headers and directories stand at the beginning.
                let most = if random.random_bool(0.7) { bytes.len().min(420) } else { bytes.len() };
                let at = random.random_range(0..most);
                bytes[at] = if random.random_bool(0.3) { 255 } else { random.random() };
            }
            refused += usize::from(read_bytes(&name, bytes).is_none());
        }
    }
    assert!(refused > 1000, "only {refused} of the changed files were refused");
}
