//! An honest day is quiet, and each planted fault is heard.

mod faults;

use super::*;
use crate::app::demo::cast::{RobotCast, TeamCast};
use crate::app::demo::entry::{Cast, Entered, enter, harbour};
use crate::app::demo::programme::{BoutCast, Corner};
use crate::app::door::admit;
use crate::pit::hazards::Rule;
use crate::pit::ids::EventId;
use crate::pit::logbook::Line;
use crate::pit::logbook::register::Machine;
use faults::Planted;
use std::collections::{BTreeMap, BTreeSet};

/// Lines as the logbook would hold them, without a database.
#[derive(Clone)]
struct Logbook {
    pit: Pit,
    lines: Vec<Line>,
}

impl Logbook {
    fn enter(&mut self, who: Enterer, drafts: Vec<Draft>, at: DateTime<Utc>) {
        if let Err(refused) = admit(&self.pit, who, &drafts, "/lines") {
            panic!("refused at {at}: {refused:?} in {drafts:#?}");
        }
        for draft in drafts {
            let line = Line {
                event: EventId(Uuid::nil()),
                seq: i64::try_from(self.lines.len()).unwrap() + 1,
                id: draft.id,
                at: draft.at.min(at),
                claimed_at: draft.at,
                clock_doubtful: false,
                recorded_at: at,
                seen_by: draft.seen_by.or(who.author.person),
                entered_by: who.author,
                subject: draft.subject,
                how: draft.how,
                corrects: draft.corrects,
                body: draft.body,
            };
            self.pit = self.pit.with(&line);
            self.lines.push(line);
        }
    }
}

fn morning() -> DateTime<Utc> {
    "2026-11-21T07:00:00Z".parse().unwrap()
}

const PEOPLE: [(&str, &[&str]); 5] = [
    ("Ash", &["driver", "electrics"]),
    ("Birch", &["mechanic"]),
    ("Cedar", &["pneumatics", "mechanic"]),
    ("Damson", &["fabricator", "mechanic"]),
    ("Elm", &["electrics", "mechanic"]),
];

fn leaked(text: String) -> &'static str {
    Box::leak(text.into_boxed_str())
}

/// `teams` teams with three robots each, one of every type, that meet in three rounds.
fn crowd(teams: usize) -> Entered {
    let cast_teams: Vec<TeamCast> = (0..teams)
        .map(|n| TeamCast {
            name: leaked(format!("Team {n}")),
            people: &PEOPLE,
        })
        .collect();
    let robots: Vec<RobotCast> = (0..teams * 3)
        .map(|n| RobotCast {
            name: leaked(format!("Robot {n}")),
            team: n / 3,
            machine: Machine::ALL[n % 3],
            bench: i64::try_from(n).unwrap() + 1,
            configuration: "as built",
            driver: 0,
        })
        .collect();
    let half = robots.len() / 2;
    let first_call = morning() + TimeDelta::hours(4);
    let bouts: Vec<BoutCast> = (0..3)
        .flat_map(|round| (0..half).map(move |n| (round, n)))
        .map(|(round, n)| BoutCast {
            corners: [Corner::Robot(n), Corner::Robot(half + (n + round) % half)],
            call_at: first_call
                + TimeDelta::minutes(
                    100 * i64::try_from(round).unwrap() + 3 * i64::try_from(n).unwrap(),
                ),
        })
        .collect();
    enter(
        &Cast {
            event: harbour(morning() + TimeDelta::hours(5)),
            organiser: "Wren",
            marshals: &["Ruth"],
            officials: &["Zeb", "Isla", "Odo"],
            teams: &cast_teams,
            robots: &robots,
            bouts: &bouts,
        },
        morning(),
        7,
    )
}

/// A hazard as it was raised during a day.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Raised {
    at: DateTime<Utc>,
    robot: RobotId,
    turnaround: u32,
    rule: &'static str,
    severity: Severity,
    why: String,
}

/// A day whose register is entered.
fn begin(entered: Entered, turns: Vec<Turn>) -> (Logbook, Day) {
    let mut book = Logbook {
        pit: Pit::default(),
        lines: Vec::new(),
    };
    let organiser = as_what(entered.kit.organiser, Role::Organiser, None);
    for draft in entered.drafts {
        book.enter(organiser, vec![draft], morning());
    }
    let day = Day::new(entered.kit, turns, morning() + TimeDelta::minutes(10));
    (book, day)
}

/// Plays a day to its end and notes every hazard at the moment it is raised or rises.
fn play(entered: Entered, turns: Vec<Turn>) -> (Logbook, Vec<Raised>) {
    play_until(entered, turns, Vec::new(), morning() + TimeDelta::hours(12))
}

/// The same till `end`, with faults planted in it.
fn play_until(
    entered: Entered,
    turns: Vec<Turn>,
    planted: Vec<Planted>,
    end: DateTime<Utc>,
) -> (Logbook, Vec<Raised>) {
    let mut planted = planted.into_iter().enumerate().peekable();
    let (mut book, mut day) = begin(entered, turns);
    let mut raised = Vec::new();
    let mut standing: BTreeMap<RobotId, BTreeSet<(&'static str, Severity)>> = BTreeMap::new();
    let mut due: BTreeMap<RobotId, DateTime<Utc>> = BTreeMap::new();
    while let Some(at) = day.next_at().filter(|at| *at < end) {
        while let Some((n, fault)) = planted.next_if(|(_, fault)| fault.at <= at) {
            fault.enter(n as u128, &mut book);
            let (robot, at) = (fault.robot(), fault.at);
            look(&book.pit, robot, at, &mut standing, &mut due, &mut raised);
        }
        // What changes by time alone, before the next thing happens.
        let robots: Vec<_> = due
            .iter()
            .filter(|(_, when)| **when <= at)
            .map(|(r, w)| (*r, *w))
            .collect();
        for (robot, when) in robots {
            look(&book.pit, robot, when, &mut standing, &mut due, &mut raised);
        }
        let Some(step) = day.next(&book.pit) else {
            continue;
        };
        let touched: BTreeSet<RobotId> = step
            .drafts
            .iter()
            .flat_map(|draft| match draft.subject {
                Subject::Robot(robot) => vec![robot],
                _ => book.pit.robots.keys().copied().collect(),
            })
            .collect();
        book.enter(step.who, step.drafts, step.at);
        for robot in touched {
            look(&book.pit, robot, at, &mut standing, &mut due, &mut raised);
        }
    }
    (book, raised)
}

fn look(
    pit: &Pit,
    robot: RobotId,
    at: DateTime<Utc>,
    standing: &mut BTreeMap<RobotId, BTreeSet<(&'static str, Severity)>>,
    due: &mut BTreeMap<RobotId, DateTime<Utc>>,
    raised: &mut Vec<Raised>,
) {
    let today = tasks::today(pit, robot).unwrap();
    let view = hazards(pit, robot, &tasks::work(pit, &today), at);
    match view.changes_at {
        Some(when) => {
            assert!(when > at, "a view changes after it was made");
            due.insert(robot, when);
        }
        None => {
            due.remove(&robot);
        }
    }
    let now: BTreeSet<_> = view
        .value
        .iter()
        .map(|hazard| (hazard.rule, hazard.severity()))
        .collect();
    let before = standing.insert(robot, now).unwrap_or_default();
    for hazard in view.value {
        if !before.contains(&(hazard.rule, hazard.severity())) {
            raised.push(Raised {
                at,
                robot,
                turnaround: today.hand.turnaround,
                rule: hazard.rule,
                severity: hazard.severity(),
                why: hazard.finding.why,
            });
        }
    }
}

#[test]
fn an_honest_day_of_sixty_robots_is_quiet() {
    let (book, raised) = play(crowd(20), Vec::new());
    let fought: u32 = book
        .pit
        .robots
        .values()
        .map(|file| file.state.turnaround)
        .sum();
    assert_eq!(fought, 180, "every robot fought all its bouts");

    // Printed for whoever wonders how often a phone rings: who is told, by the hour.
    let mut by_hour: BTreeMap<(String, i64), usize> = BTreeMap::new();
    for one in &raised {
        let hour = (one.at - morning()).num_hours();
        for who in Rule::named(one.rule).map(Rule::tell).unwrap_or_default() {
            *by_hour.entry((who.clone(), hour)).or_default() += 1;
        }
    }
    println!(
        "{} lines, {} hazards raised",
        book.lines.len(),
        raised.len()
    );
    for ((who, hour), count) in &by_hour {
        println!("{who}, hour {hour}: {count}");
    }

    let stops: Vec<_> = raised
        .iter()
        .filter(|one| one.severity == Severity::StopNow)
        .collect();
    assert!(stops.is_empty(), "stop now on an honest day: {stops:#?}");
    let mut holds: BTreeMap<(RobotId, u32), Vec<&Raised>> = BTreeMap::new();
    for one in raised.iter().filter(|one| one.severity == Severity::Hold) {
        holds
            .entry((one.robot, one.turnaround))
            .or_default()
            .push(one);
    }
    for (which, holds) in &holds {
        assert!(holds.len() <= 1, "{which:?}: {holds:#?}");
    }
}

#[test]
fn planted_faults_are_heard_and_put_right() {
    let entered = crowd(2);
    let robots: Vec<RobotId> = entered.kit.robots.iter().map(|robot| robot.id).collect();
    let at = |minute: i64| morning() + TimeDelta::minutes(minute);
    let first_call = 240;
    let turn = |minute, robot: usize, twist| Turn {
        at: at(minute),
        robot: robots[robot],
        twist,
    };
    let turns = vec![
        // The plan is written anew an hour before the bout, and nobody reads it back.
        turn(first_call - 60, 0, Twist::UnreadPlan),
        turn(first_call + 2, 0, Twist::PlanReadBack),
        // The link goes in on the bench after the bout, is pulled, and seen out by somebody else.
        turn(first_call + 50, 1, Twist::LinkIn),
        turn(first_call + 53, 1, Twist::LinkOut),
        turn(first_call + 55, 1, Twist::LinkSeenOut),
    ];
    let (book, raised) = play(entered, turns);
    let heard = |robot: usize, rule: &str, severity| {
        raised
            .iter()
            .find(|one| one.robot == robots[robot] && one.rule == rule && one.severity == severity)
            .map(|one| (one.at - morning()).num_minutes())
    };
    let called = first_call - 20;
    assert_eq!(
        heard(0, "H06", Severity::Hold),
        Some(called),
        "when the robot is called"
    );
    assert_eq!(heard(1, "H01", Severity::StopNow), Some(first_call + 50));
    let end = morning() + TimeDelta::hours(11);
    for robot in &robots[..2] {
        let today = tasks::today(&book.pit, *robot).unwrap();
        let left = hazards(&book.pit, *robot, &tasks::work(&book.pit, &today), end).value;
        assert!(
            left.iter()
                .all(|hazard| !matches!(hazard.rule, "H01" | "H06")),
            "{left:#?}"
        );
    }
}

/// What a day enters next, entered.
fn go_on(day: &mut Day, book: &mut Logbook) -> Vec<Draft> {
    loop {
        if let Some(step) = day.next(&book.pit) {
            book.enter(step.who, step.drafts.clone(), step.at);
            return step.drafts;
        }
        assert!(day.next_at().is_some(), "the day is over");
    }
}

#[test]
fn a_day_is_taken_up_where_its_logbook_ends() {
    let (mut book, mut day) = begin(crowd(4), Vec::new());
    let noon = morning() + TimeDelta::hours(5);
    while day.next_at().is_some_and(|at| at < noon) {
        go_on(&mut day, &mut book);
    }
    let (_, mut again) = begin(crowd(4), Vec::new());
    again.replay(&book.lines);
    let mut book_again = book.clone();
    for _ in 0..100 {
        let drafts = go_on(&mut day, &mut book);
        assert_eq!(go_on(&mut again, &mut book_again), drafts);
    }
}

#[test]
fn what_a_day_had_due_and_did_not_record_comes_next() {
    let (mut book, mut day) = begin(crowd(2), Vec::new());
    for _ in 0..300 {
        go_on(&mut day, &mut book);
    }
    // Somebody else's line is recorded after the step that was lost.
    let mut kept = book.clone();
    let lost = go_on(&mut day, &mut book);
    let last = book.lines.last().unwrap().clone();
    kept.lines.push(Line {
        seq: i64::try_from(kept.lines.len()).unwrap() + 1,
        id: LineId(Uuid::from_u128(1)),
        subject: Subject::Event,
        how: None,
        body: Body::CallsMoved(CallsMoved {
            from_bout: None,
            by_min: 5,
            because: None,
        }),
        ..last
    });
    let (_, mut again) = begin(crowd(2), Vec::new());
    again.replay(&kept.lines);
    assert_eq!(go_on(&mut again, &mut kept), lost);
}
