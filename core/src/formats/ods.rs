//! Spreadsheets of the OpenDocument format (OASIS OpenDocument 1.2 part 1: .ods). Values only, as in [`super::xlsx`].
//!
//! Rows and cells that are said to repeat are written out only where they hold something, within the limits of a sheet.

use std::io::{Cursor, Read as _};

use crate::formats::sheet::{self, Sheet, of_number};
use crate::formats::xml::{self, Node};
use crate::formats::{Cell, Grid, xlsx};
use crate::problem::Problems;

/// The most text of a document, bytes: its tree takes several times as much.
const MOST_TEXT: u64 = 64 << 20;

/// Every visible sheet that holds something; none and an error if the file cannot be used.
pub(super) fn sheets(place: &str, bytes: &[u8], problems: &mut Problems) -> Option<Vec<Grid>> {
    sheet::guarded(place, problems, |found| {
        xlsx::unpacks(bytes)?;
        let text = content(bytes)?;
        let mut wrong = Problems::new();
        let Some(document) = xml::document_with(place, &text, xml::Blanks::Kept, &mut wrong) else {
            let why = wrong.list.first().map_or("it cannot be read", |problem| problem.what.as_str());
            return Err(why.trim_end_matches('.').to_owned());
        };
        let root = document.root_element();
        let hidden_styles: Vec<&str> =
            named(root, "style").filter(|style| hides(*style)).filter_map(|style| of(style, "name")).collect();
        let tables = || named(root, "spreadsheet").flat_map(|sheet| sheet.children().filter(|node| is(*node, "table")));
        let is_hidden = |table: &Node<'_, '_>| of(*table, "style-name").is_some_and(|style| hidden_styles.contains(&style));
        let name = |table: Node<'_, '_>| of(table, "name").unwrap_or("without a name").to_owned();
        sheet::hidden(place, &tables().filter(is_hidden).map(name).collect::<Vec<_>>(), found);
        let read = |table: Node<'_, '_>| read_table(table, name(table));
        let sheets = tables().filter(|table| !is_hidden(table)).map(read).collect::<Result<_, String>>()?;
        sheet::grids(place, sheets, found)
    })
}

/// The text of the document in the archive.
fn content(bytes: &[u8]) -> Result<String, String> {
    let damaged = |error: zip::result::ZipError| format!("it is damaged ({error})");
    let mut archive = zip::ZipArchive::new(Cursor::new(bytes)).map_err(damaged)?;
    let mut part = |name: &str| -> Result<String, String> {
        let mut text = Vec::new();
        let file = archive.by_name(name).map_err(damaged)?;
        file.take(MOST_TEXT + 1).read_to_end(&mut text).map_err(|error| format!("it is damaged ({error})"))?;
        if text.len() as u64 > MOST_TEXT {
            return Err(format!("its text is longer than {} MB", MOST_TEXT >> 20));
        }
        Ok(xml::text_of(&text).into_owned())
    };
    if part("META-INF/manifest.xml").is_ok_and(|manifest| manifest.contains("encryption-data")) {
        return Err("it is locked with a password".to_owned());
    }
    part("content.xml")
}

/// Elements of a local name anywhere below a node.
fn named<'a, 'i>(node: Node<'a, 'i>, name: &'static str) -> impl Iterator<Item = Node<'a, 'i>> {
    node.descendants().filter(move |node| is(*node, name))
}

fn is(node: Node<'_, '_>, name: &str) -> bool {
    node.is_element() && node.tag_name().name() == name
}

/// An attribute by its local name.
fn of<'a>(node: Node<'a, '_>, name: &str) -> Option<&'a str> {
    node.attributes().find(|attribute| attribute.name() == name).map(|attribute| attribute.value())
}

/// Whether a style of tables does not show them.
fn hides(style: Node<'_, '_>) -> bool {
    of(style, "family") == Some("table")
        && named(style, "table-properties").any(|properties| of(properties, "display") == Some("false"))
}

fn count(node: Node<'_, '_>, name: &str) -> u32 {
    of(node, name).and_then(|number| number.parse::<u32>().ok()).unwrap_or(1).max(1)
}

fn read_table(table: Node<'_, '_>, name: String) -> Result<Sheet, String> {
    let mut sheet = Sheet { name, ..Sheet::default() };
    let mut row = 0_u32;
    // Rows may stand in groups and in rows of a heading; a table within a cell is none of this one's.
    let own = |node: &Node<'_, '_>| {
        let mut above = node.ancestors().skip(1).skip_while(|node| !is(*node, "table"));
        is(*node, "table-row") && above.next() == Some(table)
    };
    for line in table.descendants().filter(own) {
        let repeated = count(line, "number-rows-repeated");
        let mut column = 0_u32;
        for node in line.children().filter(|node| is(*node, "table-cell") || is(*node, "covered-table-cell")) {
            let times = count(node, "number-columns-repeated");
            let cell = value(node);
            sheet.without_value += usize::from(of(node, "formula").is_some() && cell.is_empty());
            let down = count(node, "number-rows-spanned");
            if down > 1 && count(node, "number-columns-spanned") == 1 {
                sheet.merged.push(((row, column), (row.saturating_add(down - 1), column)));
            }
            if !cell.is_empty() {
                for below in 0..repeated {
                    for beside in 0..times {
                        sheet.put(row.saturating_add(below), column.saturating_add(beside), cell.clone())?;
                    }
                }
            }
            column = column.saturating_add(times);
        }
        row = row.saturating_add(repeated);
    }
    Ok(sheet)
}

fn value(cell: Node<'_, '_>) -> Cell {
    let number = || of(cell, "value").and_then(|number| number.parse::<f64>().ok());
    match of(cell, "value-type") {
        Some("float" | "currency") => number().map_or(Cell::Empty, |number| of_number(number, false)),
        Some("percentage") => number().map_or(Cell::Empty, |number| of_number(number, true)),
        Some("date") => {
            let moment = of(cell, "date-value").unwrap_or_default();
            Cell::text(moment.strip_suffix("T00:00:00").unwrap_or(moment).replace('T', " ").as_str())
        }
        Some("boolean") => Cell::text(of(cell, "boolean-value").unwrap_or_default()),
        _ => {
            let lines: Vec<String> = cell.children().filter(|node| is(*node, "p")).map(text).collect();
            let said = lines.join("\n");
            // Text is given in the attribute where the paragraphs only show it.
            if said.is_empty() { of(cell, "string-value").map_or(Cell::Empty, Cell::text) } else { Cell::text(&said) }
        }
    }
}

/// The text of a paragraph; blanks beyond the first, tabs and line breaks are elements (OpenDocument 1.2 part 1, 6.1.2).
fn text(paragraph: Node<'_, '_>) -> String {
    let mut said = String::new();
    for node in paragraph.descendants() {
        if !node.is_element() {
            for sign in node.own_text().chars() {
                match sign {
                    ' ' | '\t' | '\r' | '\n' if said.is_empty() || said.ends_with(' ') => {}
                    '\t' | '\r' | '\n' => said.push(' '),
                    sign => said.push(sign),
                }
            }
        } else if is(node, "s") {
            said.push_str(&" ".repeat(of(node, "c").and_then(|count| count.parse::<usize>().ok()).unwrap_or(1).min(1000)));
        } else if is(node, "tab") || is(node, "line-break") {
            said.push(' ');
        }
    }
    said
}
