//! The bouts of a window of the running order, with who must be ready and rested for each.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::window::{Bout, Source, Window};
use crate::calc::fault::Faults;
use crate::calc::names;

/// Most bouts in a window.
const MOST_BOUTS: usize = 12;

/// Most bouts of a window that may change places.
const MOST_MOVABLE: usize = 8;

/// Most samples of a ready time.
const MOST_SAMPLES: usize = 2000;

/// Greatest time from the common moment, in seconds.
const MOST_S: i64 = 200_000;

/// Input of `running-order`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(RunningOrderInput::example()))]
pub struct RunningOrderInput {
    /// When the arena is free for the first bout, in seconds from any common moment.
    #[schema(minimum = -200_000, maximum = 200_000)]
    pub arena_free_s: i64,
    /// Time to reset the arena between two bouts, in seconds (0 to 7200).
    #[schema(minimum = 0, maximum = 7200)]
    pub gap_s: i64,
    /// Least time from the end of a robot's bout to its next start, in seconds (0 to 36,000).
    #[schema(minimum = 0, maximum = 36_000)]
    pub rest_s: i64,
    /// When each robot is ready. A robot not named is taken to be ready when the arena is free.
    #[serde(default)]
    #[schema(max_items = 100)]
    pub robots: Vec<RobotReady>,
    /// The bouts of the window (1 to 12, at most 8 of them not fixed).
    #[schema(min_items = 1, max_items = 12)]
    pub bouts: Vec<BoutInOrder>,
    /// Names of all the bouts in the order now published.
    #[schema(min_items = 1, max_items = 12)]
    pub published_order: Vec<String>,
    /// Names of all the bouts in an order to try out.
    #[serde(default)]
    #[schema(min_items = 1, max_items = 12)]
    pub tried_order: Option<Vec<String>>,
    /// Lateness that does not count as late, in seconds (0 to 7200; 0 unless told).
    #[serde(default)]
    #[schema(minimum = 0, maximum = 7200)]
    pub allowed_late_s: i64,
    /// What a further change of the order must take off the total lateness to be worth it, and the
    /// step in which greatest latenesses are told apart, in seconds (1 to 7200; 1 unless told).
    #[serde(default = "one_second")]
    #[schema(minimum = 1, maximum = 7200)]
    pub worthwhile_s: i64,
    /// Chance that no bout is late at which an order is good enough (0.5 to 1; 0.9 unless told).
    #[serde(default = "nine_in_ten")]
    #[schema(minimum = 0.5, maximum = 1)]
    pub wanted_on_time_probability: f64,
    /// Whether the published starts stay with their places: no bout then starts before the start
    /// published for the place it stands at.
    #[serde(default)]
    pub places_keep_starts: bool,
}

fn one_second() -> i64 {
    1
}

fn nine_in_ten() -> f64 {
    0.9
}

/// When a robot is ready.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RobotReady {
    /// Name of the robot.
    #[schema(min_length = 1, max_length = 80)]
    pub name: String,
    /// When it is ready, in seconds: one number, or samples (up to 2000). All robots with samples
    /// have equally many, and the nth samples of all belong together.
    #[schema(min_items = 1, max_items = 2000)]
    pub ready_s: Vec<i64>,
}

/// A bout of the window.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct BoutInOrder {
    /// Name of the bout.
    #[schema(min_length = 1, max_length = 80)]
    pub name: String,
    /// The two who meet.
    #[schema(min_items = 2, max_items = 2)]
    pub sides: [BoutSide; 2],
    /// How long it lasts, in seconds (1 to 7200).
    #[schema(minimum = 1, maximum = 7200)]
    pub run_s: i64,
    /// When it is published to start, in seconds from the common moment.
    #[schema(minimum = -200_000, maximum = 200_000)]
    pub published_start_s: i64,
    /// Whether it keeps its place in the order.
    #[serde(default)]
    pub fixed: bool,
}

/// One side of a bout.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum BoutSide {
    /// The robot of this name.
    Robot(String),
    /// Whoever wins the bout of this name, which is in the window.
    WinnerOf(String),
    /// Whoever loses the bout of this name, which is in the window.
    LoserOf(String),
    /// Nobody known yet: waits for nobody.
    Open,
}

impl RunningOrderInput {
    /// Six bouts, in the first of which a robot is late.
    pub fn example() -> Self {
        let bout = |name: &str, one: &str, other: &str, published_start_s| BoutInOrder {
            name: name.to_owned(),
            sides: [
                BoutSide::Robot(one.to_owned()),
                BoutSide::Robot(other.to_owned()),
            ],
            run_s: 360,
            published_start_s,
            fixed: false,
        };
        let mut final_bout = bout("25", "", "", 2400);
        final_bout.sides = [
            BoutSide::WinnerOf("21".to_owned()),
            BoutSide::WinnerOf("22".to_owned()),
        ];
        Self {
            arena_free_s: 0,
            gap_s: 120,
            rest_s: 1200,
            robots: vec![RobotReady {
                name: "Thistle".to_owned(),
                ready_s: vec![720],
            }],
            bouts: vec![
                bout("21", "Thistle", "Bramble", 0),
                bout("22", "Nettle", "Burdock", 480),
                bout("23", "Sorrel", "Yarrow", 960),
                bout("24", "Tansy", "Campion", 1440),
                final_bout,
            ],
            published_order: ["21", "22", "23", "24", "25"].map(str::to_owned).to_vec(),
            tried_order: None,
            allowed_late_s: 0,
            worthwhile_s: 60,
            wanted_on_time_probability: 0.9,
            places_keep_starts: false,
        }
    }

    /// Checks everything, and brings the window into the form of the search.
    pub(super) fn window(&self, faults: &mut Faults) -> Window {
        self.check_numbers(faults);
        let bouts: Vec<&str> = self.bouts.iter().map(|bout| bout.name.as_str()).collect();
        names::distinct(faults, bouts.iter().copied(), |index| {
            format!("/bouts/{index}/name")
        });
        let robots = self.robots.iter().map(|robot| robot.name.as_str());
        names::distinct(faults, robots, |index| format!("/robots/{index}/name"));
        let samples = self.check_samples(faults);
        let mut window = Window {
            published: self.order(faults, "/published_order", &self.published_order),
            tried: None,
            bouts: Vec::with_capacity(self.bouts.len()),
            ready: vec![vec![clamped(self.arena_free_s); samples]],
            robots: vec![String::new()],
            free_s: clamped(self.arena_free_s),
            gap_s: clamped(self.gap_s),
            rest_s: clamped(self.rest_s),
            samples,
            not_before_s: Vec::new(),
        };
        for (index, bout) in self.bouts.iter().enumerate() {
            self.check_sides(faults, index, bout);
            let sides = [0, 1].map(|side| {
                let at = format!("/bouts/{index}/sides/{side}");
                self.source(faults, at, &bout.sides[side], &bouts, &mut window)
            });
            window.bouts.push(Bout {
                sides,
                run_s: clamped(bout.run_s),
                published_start_s: clamped(bout.published_start_s),
                fixed: bout.fixed,
            });
        }
        let published = window.published.clone();
        let starts = published.iter().map(|bout| {
            let start_s = window.bouts[*bout].published_start_s;
            self.places_keep_starts.then_some(start_s)
        });
        window.not_before_s = starts.map(|start| start.unwrap_or(i32::MIN)).collect();
        self.check_feeders(faults, "/published_order", &window, &published);
        if let Some(tried) = &self.tried_order {
            let tried = self.order(faults, "/tried_order", tried);
            self.check_feeders(faults, "/tried_order", &window, &tried);
            window.tried = Some(tried);
        }
        window
    }

    /// Robots that nothing was said about, taken to be ready when the arena is free.
    pub(super) fn assumed_ready(&self) -> Vec<String> {
        let mut assumed: Vec<String> = Vec::new();
        for side in self.bouts.iter().flat_map(|bout| &bout.sides) {
            if let BoutSide::Robot(name) = side
                && !assumed.contains(name)
                && self.robots.iter().all(|robot| robot.name != *name)
            {
                assumed.push(name.clone());
            }
        }
        assumed
    }

    fn check_numbers(&self, faults: &mut Faults) {
        let mut within = |pointer: String, value: i64, min: i64, max: i64| {
            if !(min..=max).contains(&value) {
                faults.add(pointer, format!("{value} is not from {min} to {max}."));
            }
        };
        within(
            "/arena_free_s".to_owned(),
            self.arena_free_s,
            -MOST_S,
            MOST_S,
        );
        within("/gap_s".to_owned(), self.gap_s, 0, 7200);
        within("/rest_s".to_owned(), self.rest_s, 0, 36_000);
        within("/allowed_late_s".to_owned(), self.allowed_late_s, 0, 7200);
        within("/worthwhile_s".to_owned(), self.worthwhile_s, 1, 7200);
        for (index, bout) in self.bouts.iter().enumerate() {
            within(format!("/bouts/{index}/run_s"), bout.run_s, 1, 7200);
            let start = format!("/bouts/{index}/published_start_s");
            within(start, bout.published_start_s, -MOST_S, MOST_S);
        }
        for (index, robot) in self.robots.iter().enumerate() {
            for (sample, ready) in robot.ready_s.iter().enumerate() {
                let at = format!("/robots/{index}/ready_s/{sample}");
                within(at, *ready, -MOST_S, MOST_S);
            }
        }
        let wanted = self.wanted_on_time_probability;
        faults.range("/wanted_on_time_probability", wanted, 0.5, 1.0);
        names::count(faults, "/bouts", self.bouts.len(), 1, MOST_BOUTS, "bouts");
        let movable = self.bouts.iter().filter(|bout| !bout.fixed).count();
        if movable > MOST_MOVABLE {
            faults.add(
                "/bouts",
                format!("{movable} bouts may move; at most {MOST_MOVABLE} are taken: fix some."),
            );
        }
        names::count(faults, "/robots", self.robots.len(), 0, 100, "robots");
    }

    fn check_samples(&self, faults: &mut Faults) -> usize {
        let lengths = self.robots.iter().map(|robot| robot.ready_s.len());
        let samples = lengths.max().unwrap_or(1).clamp(1, MOST_SAMPLES);
        for (index, robot) in self.robots.iter().enumerate() {
            let given = robot.ready_s.len();
            if given == 0 || given > MOST_SAMPLES || (given != 1 && given != samples) {
                faults.add(
                    format!("/robots/{index}/ready_s"),
                    format!(
                        "{given} ready times for \"{}\"; give 1, or {samples} as for the others \
                         (at most {MOST_SAMPLES}).",
                        robot.name
                    ),
                );
            }
        }
        samples
    }

    /// An order of all bouts; faults name the bouts that are missing, repeated or unknown.
    fn order(&self, faults: &mut Faults, at: &str, order: &[String]) -> Vec<usize> {
        let bouts: Vec<&str> = self.bouts.iter().map(|bout| bout.name.as_str()).collect();
        names::distinct(faults, order.iter().map(String::as_str), |index| {
            format!("{at}/{index}")
        });
        let lost: Vec<String> = bouts
            .iter()
            .filter(|bout| !order.iter().any(|name| name == *bout))
            .map(|bout| format!("\"{bout}\""))
            .collect();
        if !lost.is_empty() {
            faults.add(at, format!("The order lost {}.", lost.join(", ")));
        }
        let places = order.iter().enumerate();
        let places = places.filter_map(|(index, name)| {
            names::place(faults, format!("{at}/{index}"), &bouts, name)
        });
        places.collect()
    }

    /// Notes a fault if one robot is, or may turn out to be, on both sides of a bout.
    fn check_sides(&self, faults: &mut Faults, index: usize, bout: &BoutInOrder) {
        let at = format!("/bouts/{index}/sides");
        let [one, other] = &bout.sides;
        if one == other && *one != BoutSide::Open {
            faults.add(
                at,
                format!("Bout \"{}\" has {} on both sides.", bout.name, one.told()),
            );
            return;
        }
        for (robot, drawn) in [(one, other), (other, one)] {
            let (BoutSide::Robot(name), BoutSide::WinnerOf(feeder) | BoutSide::LoserOf(feeder)) =
                (robot, drawn)
            else {
                continue;
            };
            let feeder = self.bouts.iter().find(|bout| bout.name == *feeder);
            if feeder.is_some_and(|feeder| feeder.sides.contains(robot)) {
                faults.add(
                    &at,
                    format!(
                        "\"{name}\" may be on both sides of bout \"{}\": {} may be it too.",
                        bout.name,
                        drawn.told()
                    ),
                );
            }
        }
    }

    fn source(
        &self,
        faults: &mut Faults,
        at: String,
        side: &BoutSide,
        bouts: &[&str],
        window: &mut Window,
    ) -> Source {
        match side {
            BoutSide::Open => Source::Nobody,
            BoutSide::WinnerOf(feeder) | BoutSide::LoserOf(feeder) => {
                match names::place(faults, at, bouts, feeder) {
                    Some(feeder) => Source::Feeder(feeder),
                    None => Source::Nobody,
                }
            }
            BoutSide::Robot(name) => {
                if name.trim().is_empty() {
                    faults.add(at, "A robot has a name.");
                }
                if let Some(known) = window.robots.iter().skip(1).position(|robot| robot == name) {
                    return Source::Robot(known + 1);
                }
                let told = self.robots.iter().find(|robot| robot.name == *name);
                let ready = match told.map(|robot| robot.ready_s.as_slice()) {
                    None | Some([]) => vec![window.free_s; window.samples],
                    Some([certain]) => vec![clamped(*certain); window.samples],
                    Some(samples) => {
                        let mut samples: Vec<i32> = samples.iter().copied().map(clamped).collect();
                        samples.resize(window.samples, window.free_s);
                        samples
                    }
                };
                window.robots.push(name.clone());
                window.ready.push(ready);
                Source::Robot(window.robots.len() - 1)
            }
        }
    }

    /// Notes a fault for every bout that stands before a bout it draws a side from.
    fn check_feeders(&self, faults: &mut Faults, at: &str, window: &Window, order: &[usize]) {
        for (place, bout) in order.iter().enumerate() {
            for side in &window.bouts[*bout].sides {
                let Source::Feeder(feeder) = side else {
                    continue;
                };
                if !order[..place].contains(feeder) {
                    faults.add(
                        format!("{at}/{place}"),
                        format!(
                            "Bout \"{}\" stands before bout \"{}\", which decides who is in it.",
                            self.bouts[*bout].name, self.bouts[*feeder].name
                        ),
                    );
                }
            }
        }
    }
}

impl BoutSide {
    fn told(&self) -> String {
        match self {
            Self::Robot(name) => format!("\"{name}\""),
            Self::WinnerOf(bout) => format!("the winner of \"{bout}\""),
            Self::LoserOf(bout) => format!("the loser of \"{bout}\""),
            Self::Open => "nobody known".to_owned(),
        }
    }
}

/// A time within the bounds of the search; out of bounds has been noted as a fault.
fn clamped(seconds: i64) -> i32 {
    seconds.clamp(-MOST_S, MOST_S) as i32
}
