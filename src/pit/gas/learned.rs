//! Gas for one shot of a robot, learned by weighing a bottle before and after shots.

use super::hall_degc;
use super::history::{BottleRun, History};
use super::shots::{calculated, gas_of};
use crate::calc::gas::{GasFeed, GasShotFactorInput, GasShotFactorOutput, gas_shot_factor};
use crate::pit::ids::RobotId;
use crate::pit::logbook::register::{GasOf, GasSystem};
use crate::pit::state::Pit;
use serde::Serialize;
use utoipa::ToSchema;

/// What weighing taught about the gas a robot takes for a shot.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct LearnedShot {
    /// Pairs of weighings with shots between them.
    pub weighings: u32,
    /// Shots between them.
    pub shots: u32,
    /// Gas that left the bottles, g.
    pub drawn_g: f64,
    /// Gas that warm strokes alone would have taken, g.
    pub modelled_g: f64,
    /// Drawn over modelled.
    pub factor: f64,
    /// The least it may be: the scale, or the pair of weighings that gave least.
    pub factor_low: f64,
    /// The most it may be.
    pub factor_high: f64,
    /// Whether the shots left are worked out with it.
    pub used: bool,
    /// Why not, if not.
    pub cautions: Vec<String>,
}

/// Pairs of weighings that are looked at, the latest: regulators and rams are set anew.
///
/// **Source** own starting value.
const LATEST: usize = 8;
/// Most shots and buffer charges that the calculator takes.
const MOST_SHOTS: u32 = 500;
const MOST_CHARGES: u32 = 50;

/// What was learned about `robot`; nothing before a bottle was weighed with its shots.
///
/// **Units** g.
///
/// **Assumptions** nothing but shots and one charge of the buffer a bout took gas; readings of the
/// scale err independently, so that the doubt of a sum grows with the root of their number.
pub(super) fn learned(pit: &Pit, robot: RobotId, system: &GasSystem) -> Option<LearnedShot> {
    let team = pit.robot(robot)?.register.body.team;
    let mut runs: Vec<BottleRun> = pit
        .bottles
        .iter()
        .filter(|(_, known)| known.body.team == team && known.body.gas == system.gas)
        .flat_map(|(id, _)| History::of(pit, team, *id).runs)
        .filter(|run| run.robot == robot)
        .collect();
    runs.sort_by_key(|run| std::cmp::Reverse(run.at));
    runs.truncate(LATEST);
    of_runs(pit, system, &runs)
}

/// Gas drawn over some shots.
#[derive(Clone, Copy)]
struct Drawn {
    gas_g: i32,
    shots: u32,
    charges: u32,
    doubt_g: f64,
}

fn of_runs(pit: &Pit, system: &GasSystem, runs: &[BottleRun]) -> Option<LearnedShot> {
    let reading_g = f64::from(pit.settings().gas_scale_uncertainty_g.get());
    let one = |run: &BottleRun| Drawn {
        gas_g: run.drawn_g,
        shots: run.shots,
        charges: run.bouts.max(1),
        doubt_g: reading_g,
    };
    let mut all = one(runs.first()?);
    let mut pairs = 1.0_f64;
    let mut weighings = 1;
    for run in runs.iter().skip(1).map(one) {
        if all.shots + run.shots > MOST_SHOTS || all.charges + run.charges > MOST_CHARGES {
            break;
        }
        all.gas_g += run.gas_g;
        all.shots += run.shots;
        all.charges += run.charges;
        pairs += 1.0;
        weighings += 1;
        all.doubt_g = reading_g * pairs.sqrt();
    }
    let hall = hall_degc(pit);
    let sum = factor(system, all, hall)?;
    let each = runs
        .iter()
        .take(weighings)
        .filter_map(|run| factor(system, one(run), hall))
        .filter(|out| out.usable);
    let (low, high) = each.fold((sum.factor_low, sum.factor_high), |(low, high), out| {
        (low.min(out.factor), high.max(out.factor))
    });
    Some(LearnedShot {
        weighings: u32::try_from(weighings).unwrap_or(u32::MAX),
        shots: all.shots,
        drawn_g: sum.drawn_g,
        modelled_g: sum.modelled_g,
        factor: sum.factor,
        factor_low: low,
        factor_high: high,
        used: sum.usable,
        cautions: sum.cautions,
    })
}

/// What the bottle weighs does not matter, only what it lost, kg.
const AFTER_KG: f64 = 1.0;

fn factor(system: &GasSystem, drawn: Drawn, hall_degc: f64) -> Option<GasShotFactorOutput> {
    let gas = gas_of(system.gas);
    gas_shot_factor(&GasShotFactorInput {
        gas,
        system: calculated(system, 1.0),
        ambient_temperature_degc: hall_degc,
        bottle_temperature_degc: match (system.feed, system.gas) {
            (GasFeed::FullPressure, GasOf::Co2) => Some(hall_degc.min(super::LIQUID_TO_DEGC)),
            _ => None,
        },
        weighed_before_kg: AFTER_KG + f64::from(drawn.gas_g) / 1000.0,
        weighed_after_kg: AFTER_KG,
        shots: drawn.shots.min(MOST_SHOTS),
        buffer_charges: drawn.charges.min(MOST_CHARGES),
        scale_uncertainty_g: drawn.doubt_g.min(1000.0),
    })
    .ok()
}
