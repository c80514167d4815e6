//! Answers: what goes to standard output, and problems and failures on standard error.

use std::io::Write;

use awn_core::act::NEVER;
use awn_core::problem::Problems;
use serde_json::{Value, json};

/// What a verb has to say.
#[derive(Debug)]
pub struct Answer {
    /// The whole answer, for `--json`.
    pub json: Value,
    /// The same for people; ends with a line break.
    pub text: String,
    /// Whether problems were found in the data (exit code 1).
    pub found_problems: bool,
}

impl Answer {
    /// An answer without problems.
    pub fn new(json: Value, text: String) -> Self {
        Self { json, text, found_problems: false }
    }

    /// An answer about consequences: says last, and under `caution`, that it is never a recommendation.
    pub fn never_advice(mut json: Value, mut text: String) -> Self {
        if let Some(table) = json.as_object_mut() {
            table.insert("caution".to_owned(), json!(NEVER));
        }
        if !text.contains("never a recommendation") {
            text.push_str(NEVER);
            text.push('\n');
        }
        Self::new(json, text)
    }

    /// Nothing to say.
    pub fn silent() -> Self {
        Self::new(json!({}), String::new())
    }
}

/// Writes problems to standard error, and why the work could not be done, if it could not.
pub fn problems(
    problems: &Problems,
    failure: Option<&anyhow::Error>,
    json: bool,
    err: &mut dyn Write,
) -> std::io::Result<()> {
    let mut list = problems.clone();
    if json {
        if let Some(error) = failure {
            list.error("awn", format!("{error:#}"), "");
        }
        return if list.list.is_empty() { Ok(()) } else { writeln!(err, "{}", json!({ "problems": list.list })) };
    }
    for problem in &list.list {
        writeln!(err, "{}", plain(&problem.to_string()))?;
    }
    failure.map_or(Ok(()), |error| writeln!(err, "awn: {}", plain(&format!("{error:#}"))))
}

/// A text without signs that move a terminal's cursor, change its colours or more: texts of foreign files are shown too.
pub fn plain(text: &str) -> String {
    text.chars().map(|c| if c.is_control() && c != '\n' { '\u{fffd}' } else { c }).collect()
}

/// A table in plain text: columns padded, `right` ones to the right. Lines within a cell are joined.
pub fn table(headings: &[&str], right: &[bool], rows: &[Vec<String>]) -> String {
    let rows: Vec<Vec<String>> =
        rows.iter().map(|row| row.iter().map(|cell| cell.replace(['\r', '\n', '\t'], " ")).collect()).collect();
    let wide = |text: &str| text.chars().count();
    let mut widths: Vec<usize> = headings.iter().map(|heading| wide(heading)).collect();
    for row in &rows {
        for (width, cell) in widths.iter_mut().zip(row) {
            *width = (*width).max(wide(cell));
        }
    }
    let line = |cells: &[String]| -> String {
        let padded = cells.iter().zip(&widths).zip(right).map(|((cell, width), right)| {
            let space = " ".repeat(width.saturating_sub(wide(cell)));
            if *right { format!("{space}{cell}") } else { format!("{cell}{space}") }
        });
        format!("{}\n", padded.collect::<Vec<_>>().join("  ").trim_end())
    };
    let headings: Vec<String> = headings.iter().map(ToString::to_string).collect();
    std::iter::once(line(&headings)).chain(rows.iter().map(|row| line(row))).collect()
}
