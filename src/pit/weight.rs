//! What a robot may weigh at the event, and what follows when it weighs more.

use super::logbook::register::{Machine, Robot};
use super::settings::Settings;
use crate::calc::units::Mass;

/// The most `robot` may weigh: the limit entered for it, else that of its class.
///
/// **Units** g.
///
/// **Source** the event's settings; R2, R11 and R15 differ.
pub fn limit(robot: &Robot, settings: &Settings) -> Mass {
    robot.limit_g.unwrap_or(match robot.machine {
        Machine::FlipperHeavyweight | Machine::SpinnerHeavyweight => settings.heavyweight_limit_g,
        Machine::SmallMachine => settings.small_limit_g,
    })
}

/// A robot over its limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Over {
    /// By so much.
    pub by_g: i32,
    /// The event lets it be mended before the next bout; otherwise the last bout may be lost too.
    pub may_be_mended: bool,
}

/// By how much `mass` is over the limit of `robot`; nothing within it.
///
/// **Units** g.
///
/// **Assumptions** the scale shows what the event weighs: with its gas where that counts.
///
/// **Source** R2: up to 5 % is mended before the next bout, more forfeits the last one; R11: no
/// margin.
pub fn over(robot: &Robot, settings: &Settings, mass: Mass) -> Option<Over> {
    let limit = limit(robot, settings).get();
    let by_g = mass.get().checked_sub(limit).filter(|by| *by > 0)?;
    let margin = i64::from(limit) * i64::from(settings.over_weight_percent.get()) / 100;
    Some(Over {
        by_g,
        may_be_mended: i64::from(by_g) <= margin,
    })
}

impl Over {
    /// What it means, in words.
    pub fn words(&self, settings: &Settings) -> String {
        let Self {
            by_g,
            may_be_mended,
        } = self;
        let percent = settings.over_weight_percent.get();
        match (may_be_mended, percent) {
            (true, _) => format!("{by_g} g over the limit, to be mended before the next bout"),
            (false, 0) => format!("{by_g} g over the limit"),
            (false, _) => format!(
                "{by_g} g over the limit, more than the {percent} % that may be mended: the last bout may be lost"
            ),
        }
    }
}

/// What counts on the scale, in words. The machine stays made safe there.
pub fn on_the_scale(machine: Machine, settings: &Settings) -> &'static str {
    match (machine.has_gas(), settings.gas_in_weight) {
        (true, true) => {
            "Made safe on the scale. Filled bottle and link count, weapon bar does not."
        }
        (true, false) => "Made safe on the scale. Link counts; gas and weapon bar do not.",
        (false, _) => "Made safe on the scale. Link counts, weapon bar does not.",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pit::testing::hall::Hall;
    use serde_json::json;

    fn robot() -> Robot {
        let hall = Hall::with_robots(1);
        let file = hall.pit.robots.values().next().unwrap();
        file.register.body.clone()
    }

    fn settings(body: serde_json::Value) -> Settings {
        serde_json::from_value(body).unwrap()
    }

    fn grams(grams: i64) -> Mass {
        Mass::new(grams).unwrap()
    }

    #[test]
    fn its_own_limit_goes_before_that_of_its_class() {
        let own = settings(json!({"heavyweight_limit_g": 100_000, "small_limit_g": 1_360}));
        let mut robot = robot();
        robot.limit_g = None;
        robot.machine = Machine::SpinnerHeavyweight;
        assert_eq!(limit(&robot, &own), grams(100_000));
        robot.machine = Machine::SmallMachine;
        assert_eq!(limit(&robot, &own), grams(1_360));
        robot.limit_g = Some(grams(1_500));
        assert_eq!(limit(&robot, &own), grams(1_500));
    }

    /// R2: under 5 % over is mended before the next bout; R11: no margin for error.
    #[test]
    fn over_by_five_in_a_hundred_may_be_mended() {
        let mut robot = robot();
        robot.limit_g = Some(grams(110_000));
        let five = settings(json!({"over_weight_percent": 5}));
        assert_eq!(over(&robot, &five, grams(110_000)), None);
        let just = over(&robot, &five, grams(115_500)).unwrap();
        assert_eq!(
            just,
            Over {
                by_g: 5_500,
                may_be_mended: true
            }
        );
        let more = over(&robot, &five, grams(115_501)).unwrap();
        assert!(!more.may_be_mended);
        assert!(more.words(&five).contains("last bout may be lost"));
        let none = Settings::default();
        let gram = over(&robot, &none, grams(110_001)).unwrap();
        assert!(!gram.may_be_mended);
        assert_eq!(gram.words(&none), "1 g over the limit");
    }

    #[test]
    fn the_scale_says_whether_gas_counts() {
        let with = Settings::default();
        let without = settings(json!({"gas_in_weight": false}));
        let flipper = Machine::FlipperHeavyweight;
        assert!(on_the_scale(flipper, &with).contains("bottle and link count"));
        assert!(on_the_scale(flipper, &without).contains("gas and weapon bar do not"));
        let spinner = Machine::SpinnerHeavyweight;
        assert_eq!(
            on_the_scale(spinner, &with),
            on_the_scale(spinner, &without)
        );
    }
}
