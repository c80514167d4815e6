//! Comma-separated text: the separator, the letters and the decimal mark are found out from the file.
//!
//! Separator: comma, semicolon, tab or bar, whichever most rows have most of outside quotes. Numbers may have a decimal
//! comma when the separator is not the comma. Rows carry the number of their line. Of a table the text is kept as it is, with
//! where its rows begin; cells are read when they are asked for, so that many short rows do not take ten times their letters.

use csv::StringRecord;

use crate::formats::table::decimal_comma;
use crate::formats::{Cell, Grid, GridRow, Table, code_page};
use crate::problem::Problems;

/// Rows of a text that hold something.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Records {
    text: String,
    separator: u8,
    /// Where each begins, and its line from 1; four bytes each, as texts of more than 4 GB are refused.
    places: Vec<(u32, u32)>,
    /// How many columns count.
    width: usize,
    /// A column that is empty by now.
    emptied: Option<usize>,
}

impl Records {
    /// The records of a text that hold something; `seen` is shown each one with its line. None and an error if the text cannot be
    /// read.
    fn of(place: &str, bytes: Vec<u8>, problems: &mut Problems, mut seen: impl FnMut(usize, &StringRecord)) -> Option<Self> {
        let text = code_page::into_text(bytes);
        if u32::try_from(text.len()).is_err() {
            problems.error(place, "it is larger than 4 GB.", "Divide it into several files.");
            return None;
        }
        let separator = commonest_separator(&text);
        let mut records = Self { text: String::new(), separator, places: Vec::new(), width: usize::MAX, emptied: None };
        let mut reader = reader_of(&text, separator);
        let mut lines = Lines { text: &text, counted: 0, line: 1 };
        let mut record = StringRecord::new();
        loop {
            match reader.read_record(&mut record) {
                Ok(true) => {}
                Ok(false) => break,
                Err(error) => {
                    problems.error(place, format!("it cannot be read ({error})."), "Save it again as CSV.");
                    return None;
                }
            }
            let (start, line) = lines.at(record.position().map_or(0, |position| position.byte() as usize));
            if record.iter().any(|cell| !cell.trim().is_empty()) {
                seen(line, &record);
                records.places.push((start as u32, line as u32));
            }
        }
        records.text = text;
        Some(records)
    }

    pub fn len(&self) -> usize {
        self.places.len()
    }

    /// The line of a record.
    pub fn number(&self, index: usize) -> usize {
        self.places.get(index).map_or(0, |(_, line)| *line as usize)
    }

    /// From here on a column is empty.
    pub fn empty(&mut self, column: usize) {
        self.emptied = Some(column);
    }

    /// A cell; empty if there is none.
    pub fn cell(&self, index: usize, column: usize) -> Cell {
        if column >= self.width || self.emptied == Some(column) {
            return Cell::Empty;
        }
        let from = self.places.get(index).map_or(self.text.len(), |(start, _)| *start as usize);
        let to = self.places.get(index + 1).map_or(self.text.len(), |(start, _)| *start as usize);
        let text = self.text.get(from..to).unwrap_or_default();
        let line = text.split(['\r', '\n']).next().unwrap_or_default();
        if !line.contains('"') {
            let cell = line.split(char::from(self.separator)).nth(column);
            return cell.map_or(Cell::Empty, |cell| cell_of(cell, self.separator));
        }
        let mut record = StringRecord::new();
        let found = reader_of(text, self.separator).read_record(&mut record).is_ok();
        record.get(column).filter(|_| found).map_or(Cell::Empty, |cell| cell_of(cell, self.separator))
    }
}

fn reader_of(text: &str, separator: u8) -> csv::Reader<&[u8]> {
    let buffer = text.len().clamp(64, 64 << 10);
    let mut builder = csv::ReaderBuilder::new();
    builder.delimiter(separator).flexible(true).has_headers(false).buffer_capacity(buffer).from_reader(text.as_bytes())
}

/// The heading is looked for in so many rows; above it may stand titles, which have one cell only.
const LOOKED_AT: usize = 25;

/// Reads a file's bytes.
pub(super) fn read(place: &str, bytes: Vec<u8>, problems: &mut Problems) -> Option<Table> {
    let mut first: Vec<(usize, StringRecord)> = Vec::new();
    let mut heading: Option<usize> = None;
    let mut columns: Vec<String> = Vec::new();
    let mut wide: Vec<(usize, usize)> = Vec::new();
    let decide = |first: &[(usize, StringRecord)]| {
        let filled = |record: &StringRecord| record.iter().filter(|cell| !cell.trim().is_empty()).count();
        let fullest = first.iter().map(|(_, record)| filled(record)).max().unwrap_or(0);
        let found = first.iter().position(|(_, record)| fullest < 3 || filled(record) > 1).unwrap_or(0);
        let names = first.get(found).map(|(_, record)| record.iter().map(|name| name.trim().to_owned()).collect());
        (found, names.unwrap_or_default())
    };
    let mut check = |line: usize, record: &StringRecord, columns: &[String]| {
        if record.iter().skip(columns.len()).any(|cell| !cell.trim().is_empty()) {
            wide.push((line, record.len()));
        }
    };
    let mut records = Records::of(place, bytes, problems, |line, record| {
        if heading.is_some() {
            check(line, record, &columns);
            return;
        }
        first.push((line, record.clone()));
        if first.len() == LOOKED_AT {
            let (found, names) = decide(&first);
            (heading, columns) = (Some(found), names);
        }
    })?;
    let heading = heading.unwrap_or_else(|| {
        let (found, names) = decide(&first);
        columns = names;
        found
    });
    for (line, record) in first.iter().skip(heading + 1) {
        check(*line, record, &columns);
    }
    wide.sort_unstable();
    for (line, cells) in wide {
        problems.error(
            format!("{place}, row {line}"),
            format!("it has {cells} cells, but the heading has {}.", columns.len()),
            "Put texts that hold the separator in quotation marks.",
        );
    }
    if records.len() == 0 {
        problems.error(place, EMPTY, "Give a file with a heading and rows.");
        return None;
    }
    records.places.drain(..=heading);
    records.width = columns.len();
    Some(Table { name: place.to_owned(), columns, rows: records.into(), crs: None })
}

const EMPTY: &str = "it is empty.";

/// The rows as they stand.
pub(super) fn grid(place: &str, bytes: Vec<u8>, problems: &mut Problems) -> Option<Grid> {
    let mut found: Vec<(usize, StringRecord)> = Vec::new();
    let records = Records::of(place, bytes, problems, |line, record| found.push((line, record.clone())))?;
    let row = |(number, record): (usize, StringRecord)| {
        let cells = record.iter().map(|cell| as_written(cell, records.separator)).collect();
        GridRow { number, cells }
    };
    let rows: Vec<GridRow> = found.into_iter().map(row).collect();
    // Without its other half a quotation mark takes in all rows to the end of the file.
    let is_open = records.text.matches('"').count() % 2 == 1;
    let over_lines = |cell: &Cell| matches!(cell, Cell::Text(text) if text.contains('\n'));
    if let Some(row) = rows.last().filter(|row| is_open && row.cells.iter().any(over_lines)) {
        let what = "a quotation mark is opened and not closed: the rows below would be read as part of its text.";
        problems.error(format!("{place}, row {}", row.number), what, "Close it, or take it out.");
        return None;
    }
    if rows.is_empty() {
        problems.error(place, EMPTY, "Give a file with a heading and rows.");
        return None;
    }
    Some(Grid { name: place.to_owned(), sheet: String::new(), rows })
}

/// The separator of which most rows, one below the other, have the same number; many in a row count for more than many rows, because a
/// letter with commas may stand above the table, and its numbers may have decimal commas.
fn commonest_separator(text: &str) -> u8 {
    let lines: Vec<&str> = text.lines().filter(|line| !line.trim().is_empty()).take(400).collect();
    let counts = |separator: char| lines.iter().map(|line| count_outside_quotes(line, separator)).collect::<Vec<usize>>();
    let score = |separator: &char| {
        let counts = counts(*separator);
        counts.chunk_by(|above, below| above == below).map(|run| run[0] * run[0] * run.len()).max().unwrap_or(0)
    };
    let rows = |separator: char| counts(separator).iter().filter(|count| **count > 0).count();
    // Of equal ones the last counts: a comma may be a decimal mark or part of a name, or stand between the corners of a shape.
    let best = ['|', ',', ';', '\t'].into_iter().max_by_key(score).unwrap_or(',');
    let more = |other: &char| rows(*other) > 0 && rows(*other) >= rows(',');
    let instead = if best == ',' { [';', '\t'].into_iter().find(more) } else { None };
    instead.unwrap_or(best) as u8
}

fn count_outside_quotes(line: &str, separator: char) -> usize {
    let mut quoted = false;
    line.chars()
        .filter(|c| {
            quoted ^= *c == '"';
            !quoted && *c == separator
        })
        .count()
}

/// Counts lines. The reader's own count is one short after an empty line or a line that ends in carriage return and feed.
struct Lines<'a> {
    text: &'a str,
    counted: usize,
    line: usize,
}

impl Lines<'_> {
    /// Where a record begins that the reader says begins at a byte, and its line, from 1; bytes only grow.
    fn at(&mut self, byte: usize) -> (usize, usize) {
        let breaks = self.text.get(byte..).unwrap_or_default().bytes().take_while(|c| matches!(c, b'\r' | b'\n')).count();
        let start = byte + breaks;
        self.line += self.text.get(self.counted..start).unwrap_or_default().matches('\n').count();
        self.counted = start.max(self.counted);
        (start, self.line)
    }
}

/// Without the apostrophe that guards texts which a spreadsheet would take for a formula.
fn unguarded(text: &str) -> &str {
    let text = text.trim();
    text.strip_prefix('\'').filter(|rest| rest.starts_with(['=', '+', '-', '@'])).unwrap_or(text)
}

fn cell_of(text: &str, separator: u8) -> Cell {
    let text = unguarded(text);
    // Between commas only a number in quotation marks can have a decimal comma.
    let parsed = match separator {
        b',' => text.parse().ok().or_else(|| decimal_comma(text)),
        _ => text.replace(',', ".").parse::<f64>().ok(),
    };
    match parsed {
        // "NaN" and "inf" read as numbers, but nobody means them as such: they stay texts and are named as such.
        // A leading zero is part of a code: "007".
        Some(number) if number.is_finite() && !is_code(text) => Cell::Number(number),
        _ => Cell::text(text),
    }
}

/// A number only if it is written as we would write it: "12.10" and "1E5" may be codes of samples.
fn as_written(text: &str, separator: u8) -> Cell {
    match cell_of(text, separator) {
        Cell::Number(number) if format!("{number}") != unguarded(text).replace(',', ".") => Cell::text(unguarded(text)),
        cell => cell,
    }
}

/// Zeros in front are part of what is written: "007", and "00024.5" of a receiver, which means 24.5 minutes.
fn is_code(text: &str) -> bool {
    let digits = text.bytes().take_while(u8::is_ascii_digit).count();
    digits > 1 && (text.starts_with('0') || digits == text.len() && digits > 15)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table(text: &[u8]) -> Table {
        let mut problems = Problems::new();
        let table = read("a.csv", text.to_vec(), &mut problems).unwrap();
        assert_eq!(problems, Problems::new());
        table
    }

    #[test]
    fn separators_letters_and_decimals() {
        let wanted = vec![Cell::Text("Acre, long".into()), Cell::Number(1.5), Cell::Empty];
        for text in [
            &b"name,value,note\n\"Acre, long\",1.5,\n"[..],
            b"\xef\xbb\xbfname;value;note\r\nAcre, long;1,5;\r\n",
            b"name\tvalue\tnote\nAcre, long\t1.5\n",
        ] {
            assert_eq!(cells(&table(text)), [(2, wanted.clone())]);
        }
        assert_eq!(cells(&table(b"a;b\nH\xf8j;1"))[0].1[0], Cell::Text("Høj".into()));
    }

    #[test]
    fn the_separator_of_a_table_below_a_letter() {
        let letter = "Dear Sir, dear Madam,\nthank you for your seed, which came in July.\n".repeat(20);
        let grid = |text: &str| grid("a.csv", text.as_bytes().to_vec(), &mut Problems::new()).unwrap();
        let last =
            grid(&format!("{letter}sample;field;% red.;std\nA;Acre;54,1;92,0\nB;Acre;60,2;92,0\n")).rows.pop().unwrap();
        assert_eq!((last.cells.len(), last.cells[2].clone()), (4, Cell::Number(60.2)));
        // Two columns of decimal commas.
        assert_eq!(grid("a;b\n1,2;3,4\n5,6;7,8\n9,1;2,3\n").rows[1].cells.len(), 2);
        assert_eq!(grid("a,b,c\n1,2,3\n\"x; y; z\",5,6\n").rows[2].cells.len(), 3);
    }

    #[test]
    fn a_quotation_mark_that_is_never_closed_is_named() {
        let mut problems = Problems::new();
        assert_eq!(grid("a.csv", b"a,b\n1,\"x\n2,y\n3,z\n".to_vec(), &mut problems), None);
        assert_eq!(problems.list[0].place, "a.csv, row 2");
        // Inches stand for themselves.
        assert_eq!(grid("a.csv", b"a,b\n1,5\"\n2,y\n".to_vec(), &mut Problems::new()).unwrap().rows.len(), 3);
    }

    #[test]
    fn rows_carry_their_line_and_codes_stay_texts() {
        let table = table(b"\na,b\n\n\"two\nlines\",1\n007,nan\n'=x,-2\n");
        let (numbers, cells): (Vec<usize>, Vec<_>) = cells(&table).into_iter().unzip();
        assert_eq!(numbers, [4, 6, 7]);
        assert_eq!(cells[0], [Cell::Text("two\nlines".into()), Cell::Number(1.0)]);
        assert_eq!(cells[1], [Cell::Text("007".into()), Cell::Text("nan".into())]);
        assert_eq!(cells[2], [Cell::Text("=x".into()), Cell::Number(-2.0)]);
    }

    #[test]
    fn titles_blank_rows_quotes_and_separators() {
        let text = b"Survey of June, second round\n\n# of the lower fields\nplace;lat;lon;note\nA;52,5;-0,4;a, b\n;;;\nB;52,6;-0,5;\"c;\nd\"\n";
        let read = table(text);
        assert_eq!(read.columns, ["place", "lat", "lon", "note"]);
        let text = |text: &str| Cell::Text(text.into());
        assert_eq!(
            cells(&read),
            [
                (5, vec![text("A"), Cell::Number(52.5), Cell::Number(-0.4), text("a, b")]),
                (7, vec![text("B"), Cell::Number(52.6), Cell::Number(-0.5), text("c;\nd")]),
            ]
        );
        for other in [
            &b"id\tshape\n1\tPOLYGON((0 0, 1 0, 1 1))\n2\tPOLYGON((0 0, 1 0, 1 1, 2 2))\n"[..],
            b"id|shape\n1|x\n2|y\n",
            b"id,shape\r1,x\r2,y\r",
            b"\xff\xfei\x00d\x00;\x00s\x00h\x00a\x00p\x00e\x00\n\x001\x00;\x00x\x00\n\x002\x00;\x00y\x00",
        ] {
            let read = table(other);
            assert_eq!((read.columns.len(), read.columns[1].as_str(), read.rows.len()), (2, "shape", 2), "{read:?}");
        }
        let quoted = cells(&table(b"lat,lon,heads\n\"52,5125\",\"-0,4\",\"1,234\"\n")).remove(0).1;
        assert_eq!(quoted, [Cell::Number(52.5125), Cell::Number(-0.4), text("1,234")]);
        // More cells than the heading has names.
        let mut problems = Problems::new();
        read_of(b"a,b\n1,2,3\n4,5\n6,7,,\n", &mut problems);
        assert_eq!(problems.list.len(), 1);
        assert_eq!((problems.list[0].place.as_str(), problems.list[0].what.contains("3 cells")), ("a.csv, row 2", true));
    }

    fn read_of(text: &[u8], problems: &mut Problems) -> Option<Table> {
        read("a.csv", text.to_vec(), problems)
    }

    /// Line and cells of every row.
    fn cells(table: &Table) -> Vec<(usize, Vec<Cell>)> {
        let row = |row: crate::formats::Row<'_>| {
            (row.number(), (0..table.columns.len()).map(|column| row.cell(column).into_owned()).collect())
        };
        table.rows.iter().map(row).collect()
    }
}
