//! What changed in a thing since the revision that somebody's change was based on.

use super::{AppError, Event};
use crate::pit::logbook::{Draft, Line};
use crate::store::{logbook, projection::Thing};
use serde_json::Value;

/// Most lines of one thing that are looked at; the later ones of a thing changed more often are
/// compared with what was sent.
const MOST: i64 = 1000;

/// A field that is not as it was.
#[derive(Debug, Clone, PartialEq)]
pub struct Difference {
    /// Where in the body.
    pub pointer: String,
    /// As in the revision the change was based on; as sent, if that is no revision of the thing.
    pub was: Option<Value>,
    /// As in the last revision.
    pub now: Option<Value>,
}

/// Says of a stale report what changed in the first thing that is not as it was. Any other error
/// stays what it is.
pub(super) async fn explain(event: &Event, drafts: &[Draft], error: AppError) -> AppError {
    let AppError::Stale { current, .. } = error else {
        return error;
    };
    for draft in drafts {
        let Some(thing) = Thing::of(draft.subject, &draft.body) else {
            continue;
        };
        match lines_since(event, draft, thing).await {
            Ok(lines) => {
                let last = lines.last();
                if last.map(|line| line.seq) == current && current != draft.if_revision {
                    return AppError::Stale {
                        current,
                        changes: last.map_or_else(Vec::new, |last| changes(draft, &lines, last)),
                    };
                }
            }
            Err(cause) => return cause,
        }
    }
    AppError::Stale {
        current,
        changes: Vec::new(),
    }
}

/// The register lines of a thing from the revision that a change was based on.
async fn lines_since(event: &Event, draft: &Draft, thing: Thing) -> Result<Vec<Line>, AppError> {
    let mut connection = event.pool().get().await?;
    let wanted = logbook::Filter {
        kinds: vec![draft.body.kind()],
        subject: Some(draft.subject),
        after: Some(
            draft
                .if_revision
                .map_or(0, |revision| revision.saturating_sub(1)),
        ),
        before: None,
        limit: MOST,
    };
    let mut lines = logbook::list(&mut connection, event.id(), &wanted).await?;
    lines.retain(|line| Thing::of(line.subject, &line.body) == Some(thing));
    Ok(lines)
}

fn changes(draft: &Draft, lines: &[Line], last: &Line) -> Vec<Difference> {
    let base = lines
        .iter()
        .find(|line| Some(line.seq) == draft.if_revision)
        .map_or(&draft.body, |line| &line.body);
    let mut found = Vec::new();
    compare(
        "",
        Some(&base.to_value()),
        Some(&last.body.to_value()),
        &mut found,
    );
    found
}

fn compare(pointer: &str, was: Option<&Value>, now: Option<&Value>, into: &mut Vec<Difference>) {
    match (was, now) {
        (Some(was), Some(now)) if was == now => {}
        (Some(Value::Object(was)), Some(Value::Object(now))) => {
            let new = now.keys().filter(|name| !was.contains_key(*name));
            for name in was.keys().chain(new) {
                let pointer = format!("{pointer}/{}", crate::calc::strict::escape(name));
                compare(&pointer, was.get(name), now.get(name), into);
            }
        }
        _ => into.push(Difference {
            pointer: pointer.to_owned(),
            was: was.cloned(),
            now: now.cloned(),
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn a_difference_is_named_where_it_is() {
        let mut found = Vec::new();
        let was = json!({"a": 1, "b": {"c": [1, 2], "d": 3}, "gone": true});
        let now = json!({"a": 1, "b": {"c": [1], "d": 3}, "new/er": null});
        compare("", Some(&was), Some(&now), &mut found);
        let said: Vec<_> = found
            .iter()
            .map(|one| (one.pointer.as_str(), one.was.clone(), one.now.clone()))
            .collect();
        assert_eq!(
            said,
            [
                ("/b/c", Some(json!([1, 2])), Some(json!([1]))),
                ("/gone", Some(json!(true)), None),
                ("/new~1er", None, Some(Value::Null)),
            ]
        );
    }
}
