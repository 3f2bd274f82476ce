//! Reading long lists page by page, by the key of the last item (keyset).

use crate::http::{Problem, ProblemKind};
use base64::{Engine as _, engine::general_purpose::URL_SAFE_NO_PAD};
use serde::Deserialize;
use std::{fmt::Display, str::FromStr};
use utoipa::IntoParams;

/// Most items of a page.
const MOST: usize = 100;
/// Items of a page if nobody says.
const USUAL: usize = 50;

/// Which page.
#[derive(Debug, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct PageQuery {
    /// Most items wanted; 50 if not given.
    #[param(value_type = Option<usize>, minimum = 1, maximum = 100)]
    limit: Option<String>,
    /// `next_cursor` of the page before.
    #[param(max_length = 100)]
    cursor: Option<String>,
}

impl PageQuery {
    /// Most items wanted.
    ///
    /// # Errors
    /// [`ProblemKind::Malformed`] if it is not from 1 to 100.
    pub fn limit(&self) -> Result<usize, Problem> {
        limit(self.limit.as_deref())
    }

    /// The key of the last item of the page before.
    ///
    /// # Errors
    /// [`ProblemKind::Malformed`] if the cursor is not one of ours.
    pub fn after<K: FromStr>(&self) -> Result<Option<K>, Problem> {
        self.cursor.as_deref().map(Cursor::read).transpose()
    }
}

/// Reads how many items are wanted.
///
/// # Errors
/// [`ProblemKind::Malformed`] if it is not from 1 to 100.
pub fn limit(text: Option<&str>) -> Result<usize, Problem> {
    let Some(text) = text else {
        return Ok(USUAL);
    };
    text.parse()
        .ok()
        .filter(|limit| (1..=MOST).contains(limit))
        .ok_or_else(|| {
            Problem::at(
                ProblemKind::Malformed,
                "/limit",
                format!("A page has from 1 to {MOST} items."),
            )
        })
}

/// The key of an item as a word that says nothing to whoever passes it on.
pub struct Cursor;

impl Cursor {
    /// The cursor after the item with this key.
    pub fn of(key: &impl Display) -> String {
        URL_SAFE_NO_PAD.encode(key.to_string())
    }

    /// The key behind a cursor.
    ///
    /// # Errors
    /// [`ProblemKind::Malformed`] if it is not one of ours.
    pub fn read<K: FromStr>(cursor: &str) -> Result<K, Problem> {
        URL_SAFE_NO_PAD
            .decode(cursor)
            .ok()
            .and_then(|bytes| String::from_utf8(bytes).ok())
            .and_then(|text| text.parse().ok())
            .ok_or_else(|| {
                Problem::at(
                    ProblemKind::Malformed,
                    "/cursor",
                    "This is no cursor of this list.",
                )
            })
    }
}
