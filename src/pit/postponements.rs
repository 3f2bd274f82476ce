//! Postponements of a robot: what was asked, granted and refused, and how many are used.

use super::arena::NIGHT;
use super::ids::BoutId;
use super::logbook::Body;
use super::logbook::bout::{Postponement, Postponing};
use super::state::RobotFile;
use chrono::{DateTime, TimeDelta, Utc};

/// A day of bouts is no longer than a day without its night.
const DAY: TimeDelta = TimeDelta::hours(20);

fn words(file: &RobotFile) -> impl DoubleEndedIterator<Item = (DateTime<Utc>, &Postponement)> {
    file.lines.iter().filter_map(|line| match &line.body {
        Body::Postponement(word) => Some((line.at, word)),
        _ => None,
    })
}

/// Postponements granted to a robot on the day of `now`.
pub fn used(file: &RobotFile, now: DateTime<Utc>) -> usize {
    // The day began after the last long pause in what was heard of the robot.
    let times: Vec<DateTime<Utc>> = file.lines.iter().map(|line| line.at).collect();
    let began = times
        .windows(2)
        .rev()
        .find(|pair| pair[1] <= now && pair[1] - pair[0] >= NIGHT)
        .map_or(now - DAY, |pair| pair[1]);
    words(file)
        .filter(|(at, word)| *at >= began.max(now - DAY) && word.said == Postponing::Granted)
        .count()
}

/// The last word on putting a bout off, and when it was said.
pub fn last(file: &RobotFile, bout: BoutId) -> Option<(DateTime<Utc>, &Postponement)> {
    words(file).rev().find(|(_, word)| word.bout == bout)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pit::ids::Subject;
    use crate::pit::testing::hall::{Hall, bout, minute, robot};
    use serde_json::json;

    #[test]
    fn those_of_yesterday_do_not_count() {
        let mut hall = Hall::with_robots(2);
        hall.meet(1, 1, 2, 0);
        let mut say = |at: i64, said: &str| {
            hall.at = minute(at);
            let body = json!({"bout": bout(1), "said": said, "by_min": 10});
            hall.say(Subject::Robot(robot(1)), "postponement", body);
            let file = hall.pit.robot(robot(1)).unwrap();
            (used(file, hall.at), last(file, bout(1)).unwrap().1.said)
        };
        assert_eq!(say(0, "asked"), (0, Postponing::Asked));
        assert_eq!(say(1, "granted"), (1, Postponing::Granted));
        assert_eq!(say(30, "granted"), (2, Postponing::Granted));
        // The next morning, twelve hours later.
        assert_eq!(say(750, "asked"), (0, Postponing::Asked));
        assert_eq!(say(751, "granted"), (1, Postponing::Granted));
        assert_eq!(say(760, "refused"), (1, Postponing::Refused));
    }
}
