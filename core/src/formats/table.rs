//! A neutral table: named columns, rows of cells, and a geometry a row.

use std::borrow::Cow;

use crate::crs::Crs;
use crate::formats::{Row, Rows};

/// One value of a row.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Nothing.
    Empty,
    /// A number.
    Number(f64),
    /// A text, not empty, without blanks at its ends.
    Text(String),
}

impl Cell {
    /// A text; blank is empty.
    pub fn text(text: &str) -> Self {
        match text.trim() {
            "" => Self::Empty,
            text => Self::Text(text.to_owned()),
        }
    }

    /// The value as people write it; empty for nothing.
    pub fn written(&self) -> String {
        match self {
            Self::Empty => String::new(),
            Self::Number(number) => format!("{number}"),
            Self::Text(text) => text.clone(),
        }
    }

    /// The number, if the cell is one or its text reads as one.
    pub fn number(&self) -> Option<f64> {
        match self {
            Self::Empty => None,
            Self::Number(number) => Some(*number),
            Self::Text(text) => text.parse().ok().or_else(|| decimal_comma(text)),
        }
    }

    /// A number if the text is one as people write numbers; a code such as "007" or "1e5" stays a text.
    #[must_use]
    pub(super) fn number_if_plain(self) -> Self {
        match &self {
            Self::Text(text) if is_plain_number(text) => text.parse().map_or(self, Self::Number),
            _ => self,
        }
    }

    /// Whether there is nothing.
    pub fn is_empty(&self) -> bool {
        *self == Self::Empty
    }
}

/// A number with a decimal comma. None with three digits behind it, which could be thousands.
pub(super) fn decimal_comma(text: &str) -> Option<f64> {
    let digits = |part: &str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit());
    let (whole, part) = text.strip_prefix('-').unwrap_or(text).split_once(',')?;
    if digits(whole) && digits(part) && part.len() != 3 { text.replace(',', ".").parse().ok() } else { None }
}

fn is_plain_number(text: &str) -> bool {
    let digits = text.strip_prefix('-').unwrap_or(text);
    let whole = digits.split('.').next().unwrap_or_default();
    digits.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.')
        && !whole.is_empty()
        && whole.len() <= 15
        && (whole == "0" || !whole.starts_with('0'))
}

/// A table as it was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// File name, with the layer where there are several: the beginning of every message.
    pub name: String,
    /// Names of the columns, as written.
    pub columns: Vec<String>,
    /// Rows in the order of the file.
    pub rows: Rows,
    /// Coordinate system the file names; none: it names none.
    pub crs: Option<Crs>,
}

impl Table {
    /// Where a row stands, for messages: "scouting.csv, row 14".
    pub fn place(&self, row: Row<'_>) -> String {
        format!("{}, row {}", self.name, row.number())
    }

    /// Index of the first column with one of these names, in the order of the names; see [`plain_name`].
    pub fn column(&self, names: &[&str]) -> Option<usize> {
        names.iter().find_map(|name| self.columns.iter().position(|column| plain_name(column) == plain_name(name)))
    }

    /// The cell of a row and column; empty if there is none.
    pub fn cell<'a>(&self, row: Row<'a>, column: usize) -> Cow<'a, Cell> {
        row.cell(column)
    }
}

/// A column's name without what people write differently: case, blanks, `_`, `-`, `.`, `/`.
pub fn plain_name(name: &str) -> String {
    name.trim().to_lowercase().replace([' ', '_', '-', '.', '/', '²'], "")
}
