//! Spreadsheets (Office Open XML workbooks, ECMA-376: .xlsx, .xlsm) by crate `calamine`. Values only.
//!
//! Takes the bytes of a workbook, gives each visible sheet that holds something as a [`Grid`]. A formula gives the value that
//! was kept with it and is never worked out; macros, links and pictures are not looked at. Dates come as texts
//! (`2026-09-30`), numbers shown as per cent as the number shown (`85` for a cell that shows 85 %), and a value merged over
//! several rows in each of them.
//!
//! A workbook is an archive, and a small one can unpack to anything, so it is unpacked once, with a limit, before it is read.

use std::io::{Cursor, Read as _};

use calamine::{Data, DataRef, Reader as _, SheetType, SheetVisible, Xlsx};

use crate::formats::sheet::{self, MOST_BYTES, Sheet, of_number};
use crate::formats::{Cell, Grid};
use crate::problem::Problems;

/// The most texts a workbook may say that it has; so much room is reserved for them.
const MOST_TEXTS: usize = 2_000_000;

type Workbook<'a> = Xlsx<Cursor<&'a [u8]>>;

/// Every visible sheet that holds something; none and an error if the file cannot be used.
pub(super) fn sheets(place: &str, bytes: &[u8], problems: &mut Problems) -> Option<Vec<Grid>> {
    sheet::guarded(place, problems, |found| {
        unpacks(bytes)?;
        let sheets = read_sheets(place, bytes, found)?;
        sheet::grids(place, sheets, found)
    })
}

/// Unpacks every part once and throws it away, to know that the whole stays within the limits.
pub(super) fn unpacks(bytes: &[u8]) -> Result<(), String> {
    let unusable = |error: zip::result::ZipError| format!("it is no workbook ({error})");
    let mut archive = zip::ZipArchive::new(Cursor::new(bytes)).map_err(unusable)?;
    let mut left = MOST_BYTES;
    let mut content = Vec::new();
    for index in 0..archive.len() {
        content.clear();
        let part = archive.by_index(index).map_err(unusable)?;
        part.take(left + 1).read_to_end(&mut content).map_err(|error| format!("it is damaged ({error})"))?;
        left = left
            .checked_sub(content.len() as u64)
            .ok_or_else(|| format!("it unpacks to more than {} MB", MOST_BYTES >> 20))?;
        if texts_claimed(&content) > MOST_TEXTS {
            return Err("it claims to hold more texts than any sheet needs".to_owned());
        }
    }
    Ok(())
}

/// The greatest number that a part gives as its count of texts.
fn texts_claimed(content: &[u8]) -> usize {
    const NAME: &[u8] = b"uniqueCount";
    let mut most = 0;
    let mut rest = content;
    while let Some(at) = rest.windows(NAME.len()).position(|window| window == NAME) {
        rest = &rest[at + NAME.len()..];
        let digits = rest.iter().skip_while(|byte| !byte.is_ascii_digit()).take_while(|byte| byte.is_ascii_digit());
        let claimed = digits.fold(0_usize, |sum, digit| sum.saturating_mul(10).saturating_add(usize::from(digit - b'0')));
        most = most.max(claimed);
    }
    most
}

fn read_sheets(place: &str, bytes: &[u8], problems: &mut Problems) -> Result<Vec<Sheet>, String> {
    let unreadable = |error: calamine::XlsxError| format!("it cannot be read ({error})");
    let mut workbook: Workbook<'_> = Xlsx::new(Cursor::new(bytes)).map_err(unreadable)?;
    let listed = workbook.sheets_metadata().to_vec();
    let hidden = listed.iter().filter(|sheet| sheet.visible != SheetVisible::Visible);
    sheet::hidden(place, &hidden.map(|sheet| sheet.name.clone()).collect::<Vec<_>>(), problems);
    let shown = listed.iter().filter(|sheet| sheet.visible == SheetVisible::Visible && sheet.typ == SheetType::WorkSheet);
    shown.map(|sheet| read_sheet(&mut workbook, &sheet.name)).collect()
}

fn read_sheet(workbook: &mut Workbook<'_>, name: &str) -> Result<Sheet, String> {
    let unreadable = |error: calamine::XlsxError| format!("sheet {name} cannot be read ({error})");
    let mut reader = workbook.worksheet_cells_reader(name).map_err(unreadable)?;
    let percent: Vec<bool> = reader
        .styles()
        .iter()
        .map(|style| style.number_format.as_ref().is_some_and(|format| sheet::shows_percent(&format.format_code)))
        .collect();
    let mut sheet = Sheet { name: name.to_owned(), ..Sheet::default() };
    while let Some((cell, style)) = reader.next_cell_with_style_id().map_err(unreadable)? {
        let (row, column) = cell.get_position();
        sheet.put(row, column, value(cell.get_value(), percent.get(style).copied().unwrap_or(false)))?;
    }
    drop(reader);
    sheet.without_value = formulas_without_value(workbook, name);
    let merged = workbook.merge_cells_by_sheet_name(name).unwrap_or_default();
    sheet.merged = merged.iter().map(|region| (region.start, region.end)).collect();
    Ok(sheet)
}

fn value(value: &DataRef<'_>, percent: bool) -> Cell {
    match value {
        DataRef::Int(number) => of_number(*number as f64, percent),
        DataRef::Float(number) => of_number(*number, percent),
        DataRef::SharedString(text) => Cell::text(text),
        DataRef::Bool(truth) => Cell::text(if *truth { "true" } else { "false" }),
        DataRef::DateTime(moment) if moment.is_duration() => of_number(moment.as_f64(), false),
        DataRef::DateTime(moment) => {
            let (year, month, day, hour, minute, ..) = moment.to_ymd_hms_milli();
            let time = if (hour, minute) == (0, 0) { String::new() } else { format!(" {hour:02}:{minute:02}") };
            Cell::text(&format!("{year:04}-{month:02}-{day:02}{time}"))
        }
        DataRef::String(text) | DataRef::DateTimeIso(text) | DataRef::DurationIso(text) => Cell::text(text),
        DataRef::Error(error) => Cell::text(&Data::Error(error.clone()).to_string()),
        DataRef::Empty => Cell::Empty,
    }
}

/// How many formulas have no value kept with them, as some writing programs leave them.
fn formulas_without_value(workbook: &mut Workbook<'_>, sheet: &str) -> usize {
    let Ok(mut reader) = workbook.worksheet_cells_reader(sheet) else { return 0 };
    let mut count = 0;
    while let Ok(Some(cell)) = reader.next_cell_with_formula() {
        count += usize::from(cell.formula.is_some() && cell.value == DataRef::Empty);
    }
    count
}

#[cfg(test)]
mod tests {
    use std::io::Write as _;

    use rust_xlsxwriter::{Format, Workbook as Writer};

    use super::*;

    fn read(bytes: &[u8]) -> (Option<Vec<Grid>>, Problems) {
        let mut problems = Problems::new();
        (sheets("lab.xlsx", bytes, &mut problems), problems)
    }

    fn table_of(write: impl FnOnce(&mut Writer)) -> Vec<u8> {
        let mut workbook = Writer::new();
        write(&mut workbook);
        workbook.save_to_buffer().unwrap()
    }

    #[test]
    fn values_come_as_they_are_shown() {
        let bytes = table_of(|workbook| {
            let sheet = workbook.add_worksheet();
            let percent = Format::new().set_num_format("0.0%");
            let date = Format::new().set_num_format("dd/mm/yyyy");
            sheet.write(0, 0, "Results of 2026").unwrap();
            sheet.write_row(2, 0, ["sample", "taken", "reduction", "ok"]).unwrap();
            sheet.merge_range(3, 0, 4, 0, "S-1", &Format::new()).unwrap();
            sheet.write_with_format(3, 1, 46_217, &date).unwrap(); // 2026-07-14, counted from 1899-12-30
            sheet.write_with_format(3, 2, 0.57, &percent).unwrap();
            sheet.write(3, 3, true).unwrap();
            sheet.write_formula(4, 2, rust_xlsxwriter::Formula::new("=40+2").set_result("42")).unwrap();
        });
        let (sheets, problems) = read(&bytes);
        let grid = &sheets.unwrap_or_else(|| panic!("{problems:?}"))[0];
        assert_eq!((grid.name.as_str(), grid.heading(), grid.rows[2].number), ("lab.xlsx", 1, 4));
        let text = |text: &str| Cell::Text(text.to_owned());
        assert_eq!(grid.rows[2].cells, [text("S-1"), text("2026-07-14"), Cell::Number(57.0), text("true")]);
        assert_eq!(grid.rows[3].cells, [text("S-1"), Cell::Empty, Cell::Number(42.0)]);
        assert!(problems.list.is_empty(), "{problems:?}");
    }

    #[test]
    fn hidden_sheets_are_named_and_left_out() {
        let bytes = table_of(|workbook| {
            workbook.add_worksheet().set_name("Results").unwrap().write(0, 0, "sample").unwrap();
            workbook.add_worksheet().set_name("Prices").unwrap().set_hidden(true).write(0, 0, "secret").unwrap();
        });
        let (sheets, problems) = read(&bytes);
        assert_eq!(sheets.unwrap().len(), 1);
        assert!(problems.list[0].what.contains("Prices"), "{problems:?}");
    }

    #[test]
    fn what_unpacks_without_end_or_claims_too_much_is_refused() {
        let pack = |name: &str, parts: &[&[u8]]| {
            let mut archive = zip::ZipWriter::new(Cursor::new(Vec::new()));
            archive.start_file(name, zip::write::SimpleFileOptions::default()).unwrap();
            for part in parts {
                archive.write_all(part).unwrap();
            }
            archive.finish().unwrap().into_inner()
        };
        let megabyte = vec![0; 1 << 20];
        let bomb = pack("xl/worksheets/sheet1.xml", &vec![megabyte.as_slice(); 300]);
        assert!(bomb.len() < 1 << 20, "{}", bomb.len());
        assert!(read(&bomb).1.list[0].what.contains("unpacks to more than 256 MB"));
        let claims = pack("xl/sharedStrings.xml", &[br#"<sst uniqueCount="99999999999999"></sst>"#]);
        assert!(read(&claims).1.list[0].what.contains("more texts"));
        for other in [&b"PK\x03\x04 not a zip"[..], b""] {
            assert!(read(other).0.is_none());
        }
    }

    #[test]
    fn a_cell_at_the_end_of_the_world_takes_no_room() {
        let bytes = table_of(|workbook| {
            let sheet = workbook.add_worksheet();
            sheet.write(0, 0, "sample").unwrap();
            sheet.write(1_048_575, 3, "last").unwrap();
        });
        assert_eq!(read(&bytes).0.unwrap()[0].rows.len(), 2);
        let wide = table_of(|workbook| {
            workbook.add_worksheet().write(0, 16_383, "far").unwrap();
        });
        assert!(read(&wide).1.list[0].what.contains("columns"));
    }

    #[test]
    fn a_damaged_workbook_never_stops_the_program() {
        let whole = table_of(|workbook| {
            let sheet = workbook.add_worksheet();
            for row in 0..20 {
                sheet.write_row(row, 0, ["a", "b", "<5", "n/a"]).unwrap();
            }
        });
        for at in (0..whole.len()).step_by(7) {
            drop(read(&whole[..at]));
            let mut flipped = whole.clone();
            flipped[at] ^= 0x55;
            drop(read(&flipped));
        }
    }
}
