//! Spreadsheets of the years 1997 to 2003 ([MS-XLS], BIFF8 in a compound file: .xls). Values only, as in [`super::xlsx`].
//!
//! A walk of our own over the records, since general readers reserve what a record claims. Texts may run on from one record into
//! the next; what does not hold together is left out or ends the reading with an error.

use crate::formats::compound::Compound;
use crate::formats::sheet::{self, Sheet, of_number, shows_percent};
use crate::formats::{Cell, Grid};
use crate::problem::Problems;

/// Every visible sheet that holds something; none and an error if the file cannot be used.
pub(super) fn sheets(place: &str, bytes: &[u8], problems: &mut Problems) -> Option<Vec<Grid>> {
    sheet::guarded(place, problems, |found| {
        let file = Compound::of(bytes).ok_or("it is damaged")?;
        if file.stream("EncryptedPackage").is_some() {
            return Err("it is locked with a password".to_owned());
        }
        let Some(stream) = file.stream("Workbook") else {
            let old = file.stream("Book").is_some();
            return Err(if old { "it is a workbook of before 1997" } else { "it is no workbook" }.to_owned());
        };
        let book = Book::of(&stream)?;
        let hidden: Vec<String> = book.listed.iter().filter(|entry| !entry.shown).map(|entry| entry.name.clone()).collect();
        sheet::hidden(place, &hidden, found);
        let sheets = book.listed.iter().filter(|entry| entry.shown && entry.is_sheet).map(|entry| book.read(&stream, entry));
        sheet::grids(place, sheets.collect::<Result<_, String>>()?, found)
    })
}

fn u16_at(bytes: &[u8], at: usize) -> Option<u16> {
    bytes.get(at..at.checked_add(2)?)?.try_into().ok().map(u16::from_le_bytes)
}

fn u32_at(bytes: &[u8], at: usize) -> Option<u32> {
    bytes.get(at..at.checked_add(4)?)?.try_into().ok().map(u32::from_le_bytes)
}

fn f64_at(bytes: &[u8], at: usize) -> Option<f64> {
    bytes.get(at..at.checked_add(8)?)?.try_into().ok().map(f64::from_le_bytes)
}

/// Kinds of records ([MS-XLS] 2.3.1).
mod kind {
    pub const FORMULA: u16 = 0x0006;
    pub const END: u16 = 0x000a;
    pub const DATE_MODE: u16 = 0x0022;
    pub const LOCKED: u16 = 0x002f;
    pub const CONTINUE: u16 = 0x003c;
    pub const SHEET: u16 = 0x0085;
    pub const RK_LIST: u16 = 0x00bd;
    pub const RICH_LABEL: u16 = 0x00d6;
    pub const STYLE: u16 = 0x00e0;
    pub const MERGED: u16 = 0x00e5;
    pub const TEXTS: u16 = 0x00fc;
    pub const TEXT_OF_LIST: u16 = 0x00fd;
    pub const NUMBER: u16 = 0x0203;
    pub const LABEL: u16 = 0x0204;
    pub const TRUTH_OR_ERROR: u16 = 0x0205;
    pub const TEXT_OF_FORMULA: u16 = 0x0207;
    pub const RK: u16 = 0x027e;
    pub const FORMAT: u16 = 0x041e;
    pub const BEGIN: u16 = 0x0809;
}

/// A record with those that continue it.
struct Item<'a> {
    kind: u16,
    parts: Vec<&'a [u8]>,
}

impl<'a> Item<'a> {
    fn data(&self) -> &'a [u8] {
        self.parts.first().copied().unwrap_or_default()
    }
}

/// The records of a stream from a place on.
struct Items<'a> {
    stream: &'a [u8],
    at: usize,
}

impl<'a> Items<'a> {
    fn one(&mut self) -> Option<(u16, &'a [u8])> {
        let (kind, length) = (u16_at(self.stream, self.at)?, usize::from(u16_at(self.stream, self.at + 2)?));
        let data = self.stream.get(self.at + 4..self.at + 4 + length)?;
        self.at += 4 + length;
        Some((kind, data))
    }
}

impl<'a> Iterator for Items<'a> {
    type Item = Item<'a>;

    fn next(&mut self) -> Option<Item<'a>> {
        let (kind, data) = self.one()?;
        let mut parts = vec![data];
        while u16_at(self.stream, self.at) == Some(kind::CONTINUE) {
            parts.push(self.one()?.1);
        }
        Some(Item { kind, parts })
    }
}

/// Reads texts that run over several records; each part begins with a byte that says how wide its letters are.
struct Letters<'a, 'p> {
    parts: &'p [&'a [u8]],
    part: usize,
    at: usize,
}

impl Letters<'_, '_> {
    fn rest(&self) -> &[u8] {
        self.parts.get(self.part).and_then(|part| part.get(self.at..)).unwrap_or_default()
    }

    fn done(&mut self) -> bool {
        while self.rest().is_empty() {
            if self.part >= self.parts.len() {
                return true;
            }
            (self.part, self.at) = (self.part + 1, 0);
        }
        false
    }

    fn skip(&mut self, mut bytes: usize) {
        while bytes > 0 && !self.done() {
            let step = bytes.min(self.rest().len());
            self.at += step;
            bytes -= step;
        }
    }

    fn letters(&mut self, mut count: usize, mut wide: bool) -> String {
        let mut units: Vec<u16> = Vec::new();
        while count > 0 {
            if self.rest().is_empty() {
                if self.done() {
                    break;
                }
                wide = self.rest().first().is_some_and(|flags| flags & 1 != 0);
                self.at += 1;
            }
            let width = if wide { 2 } else { 1 };
            let here = (self.rest().len() / width).min(count);
            if here == 0 {
                break;
            }
            let bytes = self.rest().get(..here * width).unwrap_or_default();
            if wide {
                units.extend(bytes.chunks_exact(2).filter_map(|pair| u16_at(pair, 0)));
            } else {
                units.extend(bytes.iter().map(|byte| u16::from(*byte)));
            }
            self.at += here * width;
            count -= here;
        }
        String::from_utf16_lossy(&units)
    }

    /// A text with its length in front, and with runs of fonts and notes of pronunciation behind.
    fn text(&mut self) -> Option<String> {
        let (count, flags) = (usize::from(u16_at(self.rest(), 0)?), *self.rest().get(2)?);
        self.at += 3;
        let mut behind = 0;
        if flags & 8 != 0 {
            behind += 4 * usize::from(u16_at(self.rest(), 0)?);
            self.at += 2;
        }
        if flags & 4 != 0 {
            behind += u32_at(self.rest(), 0)? as usize;
            self.at += 4;
        }
        let text = self.letters(count, flags & 1 != 0);
        self.skip(behind);
        Some(text)
    }
}

fn text_of(data: &[u8]) -> Option<String> {
    Letters { parts: &[data], part: 0, at: 0 }.text()
}

/// How a number is shown.
#[derive(Clone, Copy, PartialEq)]
enum Shown {
    Plain,
    Percent,
    Day,
}

/// By the number of a format that is built in ([MS-XLS] 2.4.126; those of days also in other languages), or by its text.
fn shown(number: u16, text: Option<&str>) -> Shown {
    let Some(text) = text else {
        return match number {
            9 | 10 => Shown::Percent,
            14..=22 | 27..=36 | 45..=47 | 50..=58 => Shown::Day,
            _ => Shown::Plain,
        };
    };
    let mut quoted = false;
    // Colours and conditions stand in square brackets.
    let mut bracket = false;
    let letters = text.chars().filter(|c| {
        quoted ^= *c == '"';
        bracket = *c == '[' || bracket && *c != ']';
        !quoted && !bracket
    });
    match () {
        () if shows_percent(text) => Shown::Percent,
        () if !text.eq_ignore_ascii_case("general") && letters.into_iter().any(|c| "dmyhDMYH".contains(c)) => Shown::Day,
        () => Shown::Plain,
    }
}

struct Entry {
    name: String,
    at: usize,
    shown: bool,
    is_sheet: bool,
}

/// What all sheets share.
struct Book {
    listed: Vec<Entry>,
    texts: Vec<String>,
    styles: Vec<Shown>,
    /// Days are counted from 1904, not from the end of 1899.
    from_1904: bool,
}

impl Book {
    fn of(stream: &[u8]) -> Result<Self, String> {
        let mut book = Self { listed: Vec::new(), texts: Vec::new(), styles: Vec::new(), from_1904: false };
        let mut formats = std::collections::BTreeMap::new();
        let mut styles = Vec::new();
        for item in (Items { stream, at: 0 }) {
            let data = item.data();
            match item.kind {
                kind::BEGIN if u16_at(data, 0) != Some(0x0600) => return Err("it is a workbook of before 1997".to_owned()),
                kind::LOCKED => return Err("it is locked with a password".to_owned()),
                kind::DATE_MODE => book.from_1904 = u16_at(data, 0) == Some(1),
                kind::FORMAT => drop(
                    u16_at(data, 0).zip(data.get(2..).and_then(text_of)).map(|(number, text)| formats.insert(number, text)),
                ),
                kind::STYLE => styles.push(u16_at(data, 2).unwrap_or(0)),
                kind::SHEET => book.listed.extend(entry(data)),
                kind::TEXTS => {
                    let mut letters = Letters { parts: &item.parts, part: 0, at: 8 };
                    while !letters.done() {
                        let Some(text) = letters.text() else { break };
                        book.texts.push(text);
                    }
                }
                kind::END => break,
                _ => {}
            }
        }
        book.styles = styles.iter().map(|number| shown(*number, formats.get(number).map(String::as_str))).collect();
        Ok(book)
    }

    fn read(&self, stream: &[u8], entry: &Entry) -> Result<Sheet, String> {
        let mut sheet = Sheet { name: entry.name.clone(), ..Sheet::default() };
        let mut depth = 0;
        let mut formula = None;
        for item in (Items { stream, at: entry.at }) {
            let data = item.data();
            // Charts within a sheet hold records like those of cells.
            match item.kind {
                kind::BEGIN => depth += 1,
                kind::END => {
                    depth -= 1;
                    if depth <= 0 {
                        break;
                    }
                }
                _ => {}
            }
            if depth != 1 {
                continue;
            }
            if item.kind == kind::TEXT_OF_FORMULA {
                let text = Letters { parts: &item.parts, part: 0, at: 0 }.text();
                if let Some(((row, column), text)) = formula.take().zip(text) {
                    sheet.put(row, column, Cell::text(&text))?;
                }
            } else if item.kind == kind::MERGED {
                sheet.merged.extend(data.get(2..).unwrap_or_default().chunks_exact(8).filter_map(|area| {
                    let at = |index: usize| u16_at(area, 2 * index).map(u32::from);
                    Some(((at(0)?, at(2)?), (at(1)?, at(3)?)))
                }));
            } else if let (Some(row), Some(column)) = (u16_at(data, 0), u16_at(data, 2)) {
                let at = (u32::from(row), u32::from(column));
                if item.kind == kind::FORMULA && data.get(12..14) == Some(&[0xff, 0xff]) {
                    // The value is no number: a text in the next record, a truth, or an error.
                    formula = (data.get(6) == Some(&0)).then_some(at);
                }
                self.cells(&item, at, &mut sheet)?;
            }
        }
        Ok(sheet)
    }

    fn cells(&self, item: &Item<'_>, (row, column): (u32, u32), sheet: &mut Sheet) -> Result<(), String> {
        let data = item.data();
        let style = u16_at(data, 4).unwrap_or(0);
        match item.kind {
            kind::NUMBER => sheet.put(row, column, self.number(f64_at(data, 6), style)),
            kind::RK => sheet.put(row, column, self.number(u32_at(data, 6).map(packed), style)),
            kind::RK_LIST => {
                let list = data.get(4..data.len().saturating_sub(2)).unwrap_or_default();
                for (beside, part) in (0..).zip(list.chunks_exact(6)) {
                    let number = self.number(u32_at(part, 2).map(packed), u16_at(part, 0).unwrap_or(0));
                    sheet.put(row, column + beside, number)?;
                }
                Ok(())
            }
            kind::TEXT_OF_LIST => {
                let text = u32_at(data, 6).and_then(|index| self.texts.get(index as usize));
                sheet.put(row, column, text.map_or(Cell::Empty, |text| Cell::text(text)))
            }
            kind::LABEL | kind::RICH_LABEL => {
                let text = data.get(6..).and_then(text_of);
                sheet.put(row, column, text.map_or(Cell::Empty, |text| Cell::text(&text)))
            }
            kind::TRUTH_OR_ERROR => sheet.put(row, column, truth(data.get(7) == Some(&1), data.get(6).copied())),
            kind::FORMULA => match (data.get(12..14), data.get(6)) {
                (Some([0xff, 0xff]), Some(kind @ (1 | 2))) => {
                    sheet.put(row, column, truth(*kind == 2, data.get(8).copied()))
                }
                (Some([0xff, 0xff]), _) => Ok(()),
                _ => sheet.put(row, column, self.number(f64_at(data, 6), style)),
            },
            _ => Ok(()),
        }
    }

    fn number(&self, number: Option<f64>, style: u16) -> Cell {
        let Some(number) = number else { return Cell::Empty };
        match self.styles.get(usize::from(style)).copied().unwrap_or(Shown::Plain) {
            Shown::Plain => of_number(number, false),
            Shown::Percent => of_number(number, true),
            Shown::Day => day(number, self.from_1904).map_or_else(|| of_number(number, false), |text| Cell::text(&text)),
        }
    }
}

/// A day and, if it is not midnight, the time.
fn day(number: f64, from_1904: bool) -> Option<String> {
    // The serial count takes 1900 for a leap year, so that it is right from March 1900 on.
    let first = if from_1904 { jiff::civil::date(1904, 1, 1) } else { jiff::civil::date(1899, 12, 30) };
    let days = (1.0..3_000_000.0).contains(&number).then(|| number.floor() as i64)?;
    let date = first.checked_add(jiff::Span::new().days(days)).ok()?;
    let minutes = ((number - number.floor()) * 1440.0).round() as i64;
    let time = if minutes == 0 { String::new() } else { format!(" {:02}:{:02}", minutes / 60, minutes % 60) };
    Some(format!("{date}{time}"))
}

/// A number in 30 bits: a whole one or the upper bits of a double, perhaps times 100 ([MS-XLS] 2.5.218).
fn packed(bits: u32) -> f64 {
    let number =
        if bits & 2 != 0 { f64::from(bits.cast_signed() >> 2) } else { f64::from_bits(u64::from(bits & 0xffff_fffc) << 32) };
    if bits & 1 != 0 { number / 100.0 } else { number }
}

fn truth(is_error: bool, value: Option<u8>) -> Cell {
    let text = match (is_error, value) {
        (false, value) => {
            if value == Some(1) {
                "true"
            } else {
                "false"
            }
        }
        (true, Some(0x07)) => "#DIV/0!",
        (true, Some(0x0f)) => "#VALUE!",
        (true, Some(0x17)) => "#REF!",
        (true, Some(0x1d)) => "#NAME?",
        (true, Some(0x24)) => "#NUM!",
        (true, Some(0x2a)) => "#N/A",
        (true, _) => "#ERROR",
    };
    Cell::text(text)
}

fn entry(data: &[u8]) -> Option<Entry> {
    let (count, wide) = (usize::from(*data.get(6)?), data.get(7)? & 1 != 0);
    let name = Letters { parts: &[data.get(8..)?], part: 0, at: 0 }.letters(count, wide);
    Some(Entry {
        name,
        at: u32_at(data, 0)? as usize,
        shown: matches!(data.get(4)? % 4, 0),
        is_sheet: data.get(5) == Some(&0),
    })
}
