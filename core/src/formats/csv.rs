//! Comma-separated text: the separator, the letters and the decimal mark are found out from the file.
//!
//! Separator: comma, semicolon or tab, whichever the heading has most of outside quotes. Numbers may have a decimal
//! comma when the separator is not the comma. Rows carry the number of their line.

use crate::formats::{Cell, Grid, GridRow, Row, Table, code_page};
use crate::problem::Problems;

/// Reads a file's bytes.
pub(super) fn read(place: &str, bytes: &[u8], problems: &mut Problems) -> Option<Table> {
    let text = code_page::text_of(bytes);
    let separator = separator(&text);
    let mut reader =
        csv::ReaderBuilder::new().delimiter(separator).flexible(true).has_headers(false).from_reader(text.as_bytes());
    let mut columns: Option<Vec<String>> = None;
    let mut rows = Vec::new();
    let mut lines = Lines { text: &text, counted: 0, line: 1 };
    for record in reader.records() {
        let record = match record {
            Ok(record) => record,
            Err(error) => {
                problems.error(place, format!("it cannot be read ({error})."), "Save it again as CSV.");
                return None;
            }
        };
        let line = lines.at(record.position().map_or(0, |position| position.byte() as usize));
        if record.iter().all(|cell| cell.trim().is_empty()) {
            continue;
        }
        let Some(columns) = &columns else {
            columns = Some(record.iter().map(|name| name.trim().to_owned()).collect());
            continue;
        };
        if record.iter().skip(columns.len()).any(|cell| !cell.trim().is_empty()) {
            problems.error(
                format!("{place}, row {line}"),
                format!("it has {} cells, but the heading has {}.", record.len(), columns.len()),
                "Put texts that hold the separator in quotation marks.",
            );
            continue;
        }
        let mut cells: Vec<Cell> = record.iter().take(columns.len()).map(|cell| cell_of(cell, separator)).collect();
        cells.resize(columns.len(), Cell::Empty);
        rows.push(Row { number: line, geometry: None, cells });
    }
    let Some(columns) = columns else {
        problems.error(place, "it is empty.", "Give a file with a heading and rows.");
        return None;
    };
    Some(Table { name: place.to_owned(), columns, rows, crs: None })
}

/// The rows as they stand. The separator is the one that most rows have most of, as a title may stand above the heading.
pub(super) fn grid(place: &str, bytes: &[u8], problems: &mut Problems) -> Option<Grid> {
    let text = code_page::text_of(bytes);
    let separator = commonest_separator(&text);
    let mut reader =
        csv::ReaderBuilder::new().delimiter(separator).flexible(true).has_headers(false).from_reader(text.as_bytes());
    let mut rows = Vec::new();
    let mut lines = Lines { text: &text, counted: 0, line: 1 };
    for record in reader.records() {
        let record = match record {
            Ok(record) => record,
            Err(error) => {
                problems.error(place, format!("it cannot be read ({error})."), "Save it again as CSV.");
                return None;
            }
        };
        let number = lines.at(record.position().map_or(0, |position| position.byte() as usize));
        let row = GridRow { number, cells: record.iter().map(|cell| as_written(cell, separator)).collect() };
        if row.filled() > 0 {
            rows.push(row);
        }
    }
    // Without its other half a quotation mark takes in all rows to the end of the file.
    let is_open = text.matches('"').count() % 2 == 1;
    let over_lines = |cell: &Cell| matches!(cell, Cell::Text(text) if text.contains('\n'));
    if let Some(row) = rows.last().filter(|row| is_open && row.cells.iter().any(over_lines)) {
        let what = "a quotation mark is opened and not closed: the rows below would be read as part of its text.";
        problems.error(format!("{place}, row {}", row.number), what, "Close it, or take it out.");
        return None;
    }
    if rows.is_empty() {
        problems.error(place, "it is empty.", "Give a file with a heading and rows.");
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
    // Tab and semicolon first on a tie: a comma may be a decimal mark or part of a name.
    let best = [',', ';', '\t'].into_iter().max_by_key(score).unwrap_or(',');
    if best == ',' && rows(';') > 0 && rows(';') >= rows(',') { b';' } else { best as u8 }
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
    /// The line, from 1, on which a record begins that the reader says begins at a byte; bytes only grow.
    fn at(&mut self, byte: usize) -> usize {
        let breaks = self.text.get(byte..).unwrap_or_default().bytes().take_while(|c| matches!(c, b'\r' | b'\n')).count();
        let start = byte + breaks;
        self.line += self.text.get(self.counted..start).unwrap_or_default().matches('\n').count();
        self.counted = start.max(self.counted);
        self.line
    }
}

fn separator(text: &str) -> u8 {
    let heading = text.lines().find(|line| !line.trim().is_empty()).unwrap_or_default();
    let count = |separator: char| count_outside_quotes(heading, separator);
    // On a tie the earlier of the list stands, hence the reversed order for `max_by_key`, which keeps the last.
    [',', ';', '\t'].into_iter().rev().max_by_key(|separator| count(*separator)).map_or(b',', |separator| separator as u8)
}

/// Without the apostrophe that guards texts which a spreadsheet would take for a formula.
fn unguarded(text: &str) -> &str {
    let text = text.trim();
    text.strip_prefix('\'').filter(|rest| rest.starts_with(['=', '+', '-', '@'])).unwrap_or(text)
}

fn cell_of(text: &str, separator: u8) -> Cell {
    let text = unguarded(text);
    let parsed = if separator == b',' { text.parse::<f64>() } else { text.replace(',', ".").parse::<f64>() };
    match parsed {
        // "NaN" and "inf" read as numbers, but nobody means them as such: they stay texts and are named as such.
        // A leading zero is part of a code: "007".
        Ok(number) if number.is_finite() && !is_code(text) => Cell::Number(number),
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

fn is_code(text: &str) -> bool {
    let digits = text.bytes().take_while(u8::is_ascii_digit).count();
    digits > 1 && digits == text.len() && (text.starts_with('0') || digits > 15)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table(text: &[u8]) -> Table {
        let mut problems = Problems::new();
        let table = read("a.csv", text, &mut problems).unwrap();
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
            assert_eq!(table(text).rows, [Row { number: 2, geometry: None, cells: wanted.clone() }]);
        }
        assert_eq!(table(b"a;b\nH\xf8j;1").rows[0].cells[0], Cell::Text("Høj".into()));
    }

    #[test]
    fn the_separator_of_a_table_below_a_letter() {
        let letter = "Dear Sir, dear Madam,\nthank you for your seed, which came in July.\n".repeat(20);
        let grid = |text: &str| grid("a.csv", text.as_bytes(), &mut Problems::new()).unwrap();
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
        assert_eq!(grid("a.csv", b"a,b\n1,\"x\n2,y\n3,z\n", &mut problems), None);
        assert_eq!(problems.list[0].place, "a.csv, row 2");
        // Inches stand for themselves.
        assert_eq!(grid("a.csv", b"a,b\n1,5\"\n2,y\n", &mut Problems::new()).unwrap().rows.len(), 3);
    }

    #[test]
    fn rows_carry_their_line_and_codes_stay_texts() {
        let table = table(b"\na,b\n\n\"two\nlines\",1\n007,nan\n'=x,-2\n");
        let numbers: Vec<usize> = table.rows.iter().map(|row| row.number).collect();
        assert_eq!(numbers, [4, 6, 7]);
        assert_eq!(table.rows[1].cells, [Cell::Text("007".into()), Cell::Text("nan".into())]);
        assert_eq!(table.rows[2].cells, [Cell::Text("=x".into()), Cell::Number(-2.0)]);
    }
}
