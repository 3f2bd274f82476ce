//! Tables as comma-separated values, read strictly and written so that no spreadsheet takes text
//! for a formula.
//!
//! **Source** RFC 4180; formula injection: OWASP, CSV Injection (from memory).

use crate::calc::fault::Fault;

/// A cell to be written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Cell {
    /// What somebody typed: written so that it stays text.
    Text(String),
    /// A number or a time of our own making.
    Value(String),
    /// Nothing known.
    Empty,
}

impl Cell {
    /// A number or a time, or nothing.
    pub fn value(value: Option<impl ToString>) -> Self {
        value.map_or(Self::Empty, |value| Self::Value(value.to_string()))
    }

    /// Text.
    pub fn text(text: impl Into<String>) -> Self {
        Self::Text(text.into())
    }
}

/// The table with this head, lines ending in CR LF.
pub fn write(head: &[&str], rows: &[Vec<Cell>]) -> String {
    let mut text = String::new();
    let head: Vec<Cell> = head.iter().map(|name| Cell::text(*name)).collect();
    for row in std::iter::once(&head).chain(rows) {
        for (n, cell) in row.iter().enumerate() {
            if n > 0 {
                text.push(',');
            }
            match cell {
                Cell::Text(cell) => quoted(&mut text, &disarmed(cell)),
                Cell::Value(cell) => quoted(&mut text, cell),
                Cell::Empty => {}
            }
        }
        text.push_str("\r\n");
    }
    text
}

/// Text that begins like a formula, with an apostrophe before it.
fn disarmed(cell: &str) -> String {
    let formula = cell.starts_with(['=', '+', '-', '@', '\t', '\r', '\n', '\u{ff1d}']);
    if formula {
        format!("'{cell}")
    } else {
        cell.to_owned()
    }
}

fn quoted(text: &mut String, cell: &str) {
    let plain = !cell.contains([',', '"', '\r', '\n', ';', '\t']) && cell.trim() == cell;
    if plain {
        text.push_str(cell);
    } else {
        text.push('"');
        text.push_str(&cell.replace('"', "\"\""));
        text.push('"');
    }
}

/// A row as read, with the number of the line it begins in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// The line of the text, from 1.
    pub line: usize,
    /// The cells, without blanks around them.
    pub cells: Vec<String>,
}

/// Reads a table with commas, semicolons or tabs, whichever its first line has most of. Lines
/// without any text are left out.
///
/// # Errors
/// A quotation mark that is not closed, with the line it is in.
pub fn read(text: &str) -> Result<Vec<Row>, Fault> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let first = text.lines().find(|line| !line.trim().is_empty());
    let separator = [',', ';', '\t']
        .into_iter()
        .max_by_key(|separator| {
            (
                first.unwrap_or("").matches(*separator).count(),
                *separator == ',',
            )
        })
        .unwrap_or(',');
    let mut rows = Vec::new();
    let mut row = Row {
        line: 1,
        cells: Vec::new(),
    };
    let mut cell = String::new();
    let mut line = 1;
    let mut quoted_since = None;
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        if c == '\n' {
            line += 1;
        }
        match (c, quoted_since) {
            ('"', Some(_)) if chars.peek() == Some(&'"') => {
                chars.next();
                cell.push('"');
            }
            ('"', Some(_)) => quoted_since = None,
            (c, Some(_)) => cell.push(c),
            ('"', None) if cell.trim().is_empty() => {
                cell.clear();
                quoted_since = Some(line);
            }
            ('\r', None) => {}
            ('\n', None) => {
                row.cells.push(std::mem::take(&mut cell));
                let next = Row {
                    line,
                    cells: Vec::new(),
                };
                rows.push(std::mem::replace(&mut row, next));
            }
            (c, None) if c == separator => row.cells.push(std::mem::take(&mut cell)),
            (c, None) => cell.push(c),
        }
    }
    if let Some(since) = quoted_since {
        return Err(Fault::new(
            "",
            format!("Line {since}: a quotation mark is opened and not closed."),
        ));
    }
    row.cells.push(cell);
    rows.push(row);
    for row in &mut rows {
        for cell in &mut row.cells {
            *cell = cell.trim().to_owned();
        }
    }
    rows.retain(|row| row.cells.iter().any(|cell| !cell.is_empty()));
    Ok(rows)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cells(text: &str) -> Vec<Vec<String>> {
        let rows = read(text).unwrap();
        rows.into_iter().map(|row| row.cells).collect()
    }

    #[test]
    fn the_rules_of_rfc_4180_hold() {
        // Section 2: rules 1 to 7, with its own examples.
        assert_eq!(
            cells("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n"),
            [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]
        );
        assert_eq!(
            cells("\"aaa\",\"b \r\nbb\",\"ccc\"\r\nzzz,yyy,xxx"),
            [["aaa", "b \r\nbb", "ccc"], ["zzz", "yyy", "xxx"]]
        );
        assert_eq!(
            cells("\"aaa\",\"b\"\"bb\",\"ccc\""),
            [["aaa", "b\"bb", "ccc"]]
        );
        let written = write(
            &["a", "b"],
            &[vec![Cell::text("b\"b, b\r\nb"), Cell::value(Some(-3))]],
        );
        assert_eq!(written, "a,b\r\n\"b\"\"b, b\r\nb\",-3\r\n");
        assert_eq!(cells(&written)[1], ["b\"b, b\r\nb", "-3"]);
    }

    #[test]
    fn what_people_paste_is_read() {
        assert_eq!(
            cells("\u{feff}number;call\n\n 1 ; 14:05\n;\n"),
            [["number", "call"], ["1", "14:05"]]
        );
        assert_eq!(cells("1\t14:05\n"), [["1", "14:05"]]);
        assert_eq!(
            read("a\n\n\"b").unwrap_err().detail.split(':').next(),
            Some("Line 3")
        );
        assert_eq!(read("a\n\nb").unwrap()[1].line, 3);
        assert_eq!(read("").unwrap(), []);
    }

    #[test]
    fn no_text_becomes_a_formula() {
        for text in ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1"] {
            let written = write(&["a"], &[vec![Cell::text(text)]]);
            let cell = &read(&written).unwrap()[1].cells[0];
            assert!(cell.starts_with('\''), "{written:?}");
        }
    }
}
