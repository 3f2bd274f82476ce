//! The list in hand: arrival, turnaround or end of day, and since when facts count for it.

use crate::pit::ids::RobotId;
use crate::pit::library::tasks::List;
use crate::pit::logbook::Body;
use crate::pit::state::{Pit, RobotFile};
use chrono::{DateTime, Utc};

/// The list in hand of a robot.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Hand {
    /// Which list.
    pub list: List,
    /// Number of the turnaround: bouts it has behind it.
    pub turnaround: u32,
    /// When the list began, if a bout began it.
    pub began: Option<DateTime<Utc>>,
    /// From when facts count for it. A crew makes its robot safe while the organiser still has to
    /// tap that the bout is over, so that is the beginning of the bout.
    pub facts_from: Option<DateTime<Utc>>,
}

/// The list in hand of `robot`.
pub fn in_hand(pit: &Pit, robot: RobotId, file: &RobotFile) -> Hand {
    let turnaround = file.state.turnaround;
    let list = if turnaround == 0 {
        List::Arrival
    } else if file.state.in_bout.is_none() && pit.next_bout(robot).is_none() {
        List::EndOfDay
    } else {
        List::Turnaround
    };
    Hand {
        list,
        turnaround,
        began: file.state.turnaround_began,
        facts_from: facts_from(file),
    }
}

fn facts_from(file: &RobotFile) -> Option<DateTime<Utc>> {
    let end = file
        .lines
        .iter()
        .rposition(|line| matches!(line.body, Body::BoutEnded(_)))?;
    let bout = file.lines[end].subject;
    let began = file.lines[..end]
        .iter()
        .rev()
        .find(|line| line.subject == bout && matches!(line.body, Body::BoutStarted(_)));
    Some(began.unwrap_or(&file.lines[end]).at)
}
