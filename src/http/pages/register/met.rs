//! A form that met somebody else's change: both are kept.

use super::Form;
use super::entry::{Start, at, form, text, words_of};
use super::things::{Known, Noun, specs};
use crate::http::pages::form::Fields;
use crate::http::pages::reader::Reader;
use serde_json::Value;
use uuid::Uuid;

/// The form once more after somebody else changed the thing: their changes are in it, what was
/// typed is kept, and where both changed the same it says so.
pub fn met(reader: &Reader, noun: Noun, id: Option<Uuid>, now: &Known, fields: &Fields) -> Form {
    let was: Value = fields
        .get("was")
        .and_then(|text| serde_json::from_str(text).ok())
        .unwrap_or_else(|| now.body.clone());
    let mut typed = fields.typed();
    let mut changed = Vec::new();
    for spec in specs::of(noun) {
        let (before, after) = (at(&was, &spec), at(&now.body, &spec));
        let (old, new) = (text(reader, &spec, before), text(reader, &spec, after));
        if old == new {
            continue;
        }
        let theirs = words_of(reader, &spec, after);
        changed.push(format!(
            "{}: {}, was {}",
            spec.label,
            theirs,
            words_of(reader, &spec, before)
        ));
        let mine = fields
            .get(spec.name())
            .unwrap_or_default()
            .replace('\r', "");
        if mine == old {
            typed.values.insert(spec.name().to_owned(), new);
        } else if mine != new {
            typed.faults.insert(
                spec.name().to_owned(),
                format!("It is {theirs} now. Yours is kept here: save it to put it in its place."),
            );
        }
    }
    let who = now
        .by
        .map_or_else(|| "Somebody".to_owned(), |who| reader.name(Some(who)));
    typed.faults.insert(
        String::new(),
        format!("{who} changed it while this page was open. Nothing of it is lost: look, then save again."),
    );
    let mut view = form(
        reader,
        Start {
            noun,
            id,
            body: &now.body,
            revision: Some(now.revision),
            typed,
        },
    );
    view.changed = changed;
    view
}
