//! The photographs of a thing: which lines speak of one.

use super::ids::{LineId, Subject};
use super::logbook::photo::Photo;
use super::logbook::{Body, Line};
use super::state::Pit;
use std::sync::Arc;

/// A photograph that was not taken back.
#[derive(Debug, Clone, PartialEq)]
pub struct Shot {
    /// The id of the line as first entered: its bytes are kept under it.
    pub id: LineId,
    /// The line, as it counts.
    pub line: Arc<Line>,
    /// What it says.
    pub photo: Photo,
}

/// The photographs of `subject`, the newest first.
pub fn of(pit: &Pit, subject: Subject) -> Vec<Shot> {
    let Some(file) = pit.files.get(&subject) else {
        return Vec::new();
    };
    let mut found: Vec<Shot> = file
        .iter()
        .filter(|(_, entry)| entry.first.corrects.is_none())
        .filter_map(|(id, entry)| {
            let line = entry.effective()?;
            let Body::Photo(photo) = &line.body else {
                return None;
            };
            Some(Shot {
                id: *id,
                photo: photo.clone(),
                line,
            })
        })
        .collect();
    found.sort_by_key(|shot| std::cmp::Reverse((shot.line.at, shot.id)));
    found
}

/// The photograph that was entered with this line, unless it was taken back.
pub fn one(pit: &Pit, id: LineId) -> Option<Shot> {
    let subject = pit.entry(id)?.first.subject;
    of(pit, subject).into_iter().find(|shot| shot.id == id)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pit::logbook::photo::Shows;
    use crate::pit::testing::hall::{Hall, minute, robot};
    use serde_json::json;

    #[test]
    fn a_photograph_taken_back_is_not_shown_and_the_newest_stands_first() {
        let mut hall = Hall::with_robots(1);
        let about = Subject::Robot(robot(1));
        hall.at = minute(5);
        hall.say(about, "photo", json!({"shows": "damage"}));
        hall.at = minute(3);
        hall.say(about, "photo", json!({"shows": "link_plan"}));
        let shots = of(&hall.pit, about);
        let shown: Vec<Shows> = shots.iter().map(|shot| shot.photo.shows).collect();
        assert_eq!(shown, [Shows::Damage, Shows::LinkPlan]);
        assert_eq!(one(&hall.pit, shots[0].id).as_ref(), Some(&shots[0]));
        hall.take_back(shots[0].id);
        assert_eq!(one(&hall.pit, shots[0].id), None);
        assert_eq!(of(&hall.pit, about).len(), 1);
    }
}
