//! Measures the board of 60 robots after a line, and the search for a better order of eight bouts
//! on 1,000 samples, beside serialising the logbook they come from.

use chrono::{DateTime, TimeDelta, Utc};
use linkout::calc::running_order::{
    BoutInOrder, BoutSide, RobotReady, RunningOrderInput, running_order,
};
use linkout::pit::board::Board;
use linkout::pit::ids::{EventId, LineId, Subject};
use linkout::pit::logbook::{Author, Body, Kind, Line, Role};
use linkout::pit::state::Pit;
use serde_json::{Value, json};
use std::hint::black_box;
use std::time::{Duration, Instant};
use uuid::Uuid;

const ROBOTS: u128 = 60;
const SAMPLES: i64 = 1_000;

fn main() {
    let (lines, now) = day();
    let pit = Pit::fold(&lines);
    let last = lines.last().expect("a day has lines");
    let beside = best_of(20, || {
        let bodies: Vec<Value> = lines.iter().map(|line| line.body.to_value()).collect();
        black_box(serde_json::to_string(&bodies)).is_ok()
    });
    let board = best_of(20, || {
        let pit = pit.with(last);
        black_box(Board::of(&pit, now).value.day.bouts.len()) > 0
    });
    let input = window();
    let order = best_of(5, || black_box(running_order(&input)).is_ok());
    println!("{:<44} {:>10} {:>8}  goal", "measured", "ms", "ratio");
    let told = |name: &str, took: Duration, goal: &str| {
        let ratio = took.as_secs_f64() / beside.as_secs_f64();
        let ms = took.as_secs_f64() * 1e3;
        println!("{name:<44} {ms:>10.2} {ratio:>8.2}  {goal}");
    };
    told("the same logbook as JSON, beside it", beside, "");
    told("board of 60 robots after a line", board, "< 20 ms");
    told("order of 8 bouts on 1,000 samples", order, "< 300 ms");
}

fn best_of(times: u32, work: impl Fn() -> bool) -> Duration {
    (0..times)
        .map(|_| {
            let begun = Instant::now();
            assert!(work());
            begun.elapsed()
        })
        .min()
        .unwrap_or_default()
}

/// Sixty robots, thirty bouts, and what each crew said in an hour.
fn day() -> (Vec<Line>, DateTime<Utc>) {
    let start = DateTime::from_timestamp(1_800_000_000, 0).expect("a moment");
    let mut lines: Vec<Line> = Vec::new();
    let mut say = |at_min: i64, subject: String, kind: &str, body: Value| {
        let n = lines.len() as u128 + 1;
        let at = start + TimeDelta::minutes(at_min);
        let kind = Kind::named(kind).expect("a kind");
        lines.push(Line {
            event: EventId(Uuid::nil()),
            seq: n as i64,
            id: LineId(Uuid::from_u128(0x1_0000 + n)),
            at,
            claimed_at: at,
            clock_doubtful: false,
            recorded_at: at,
            seen_by: None,
            entered_by: Author {
                person: None,
                role: Role::Marshal,
            },
            subject: subject.parse::<Subject>().expect("a subject"),
            how: kind
                .about_a_state()
                .then_some(linkout::pit::logbook::How::Saw),
            corrects: None,
            body: Body::read(kind, &body, "").expect("a body"),
        });
    };
    let id = |what: u128, n: u128| Uuid::from_u128((what << 32) + n);
    for n in 0..ROBOTS {
        let machine = ["flipper_heavyweight", "spinner_heavyweight"][n as usize % 2];
        let body = json!({"team": id(1, n / 2), "name": format!("Robot {n}"), "machine": machine, "links": 1});
        say(0, format!("robot:{}", id(2, n)), "register_robot", body);
    }
    for n in 0..ROBOTS / 2 {
        let corner = |robot| json!({"robot": id(2, robot)});
        let call = start + TimeDelta::minutes(60 + 10 * n as i64);
        let body =
            json!({"number": n + 1, "slots": [corner(2 * n), corner(2 * n + 1)], "call_at": call});
        say(1, format!("bout:{}", id(3, n)), "register_bout", body);
    }
    for minute in (2..60).step_by(4) {
        for n in 0..ROBOTS {
            let about = format!("robot:{}", id(2, n));
            say(minute, about.clone(), "link", json!({"state": "out"}));
            say(minute, about, "weapon_bar", json!({"state": "on"}));
        }
    }
    (lines, start + TimeDelta::minutes(61))
}

/// Eight bouts of sixteen robots, each late by chance.
fn window() -> RunningOrderInput {
    let name = |n: i64| format!("robot {n}");
    let late = |robot: i64, sample: i64| (robot * 7_919 + sample * 104_729) % 2_400;
    let bouts: Vec<BoutInOrder> = (0..8)
        .map(|n| BoutInOrder {
            name: n.to_string(),
            sides: [
                BoutSide::Robot(name(2 * n)),
                BoutSide::Robot(name(2 * n + 1)),
            ],
            run_s: 240,
            published_start_s: 600 * n,
            fixed: false,
        })
        .collect();
    RunningOrderInput {
        arena_free_s: 0,
        gap_s: 120,
        rest_s: 1_200,
        robots: (0..16)
            .map(|robot| RobotReady {
                name: name(robot),
                ready_s: (0..SAMPLES).map(|sample| late(robot, sample)).collect(),
            })
            .collect(),
        published_order: bouts.iter().map(|bout| bout.name.clone()).collect(),
        bouts,
        tried_order: None,
        allowed_late_s: 120,
        worthwhile_s: 60,
        wanted_on_time_probability: 0.8,
        places_keep_starts: true,
    }
}
