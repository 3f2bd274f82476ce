//! Rules and limits on which events differ: settings with defaults, never constants.

mod choices;

pub use choices::{
    Aim, ArmAtRest, BarOff, BottleInAt, ChargingAt, ChargingWatch, Isolator, Late, TransmitterOn,
};

use crate::calc::units::{
    AirTemperature, CellVoltage, Count, GaugePressure, Mass, Minutes, Note, Percent, Seconds,
};
use crate::pit::logbook::machine::Place;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

macro_rules! default_of {
    ($name:ident, $type:ty, $value:literal) => {
        fn $name() -> $type {
            <$type>::new($value).expect("a default within its bounds")
        }
    };
}

default_of!(min_1, Minutes, 1);
default_of!(min_2, Minutes, 2);
default_of!(min_3, Minutes, 3);
default_of!(min_4, Minutes, 4);
default_of!(min_5, Minutes, 5);
default_of!(min_10, Minutes, 10);
default_of!(min_15, Minutes, 15);
default_of!(min_20, Minutes, 20);
default_of!(min_30, Minutes, 30);
default_of!(min_240, Minutes, 240);
default_of!(s_30, Seconds, 30);
default_of!(s_45, Seconds, 45);
default_of!(s_60, Seconds, 60);
default_of!(s_120, Seconds, 120);
default_of!(one, Count, 1);
default_of!(two, Count, 2);
default_of!(four, Count, 4);
default_of!(no_percent, Percent, 0);
default_of!(percent_80, Percent, 80);
default_of!(kg_110, Mass, 110_000);
default_of!(kg_1_5, Mass, 1_500);
default_of!(g_100, Mass, 100);
default_of!(g_5, Mass, 5);
default_of!(degc_20, AirTemperature, 20);
default_of!(five, Count, 5);
default_of!(mv_50, CellVoltage, 50);

/// The settings of an event.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Settings {
    /// A sight on the bench is good for this long. **Source** own starting value.
    pub stale_bench_min: Minutes,
    /// The same in the arena queue.
    pub stale_queue_min: Minutes,
    /// The same in the test area.
    pub stale_test_area_min: Minutes,
    /// The same while arming.
    pub stale_arming_min: Minutes,
    /// The same anywhere else outside the arena.
    pub stale_elsewhere_min: Minutes,
    /// The same for a source that is out of the machine.
    pub stale_removed_min: Minutes,
    /// Two sights that differ within this time are a dispute.
    pub dispute_s: Seconds,
    /// A phone's clock further off than this is doubtful.
    pub clock_doubtful_s: Seconds,
    /// A line withdrawn by its author within this time shows as withdrawn.
    pub withdraw_s: Seconds,
    /// Time allowed to reach the link and make the machine dead.
    /// 15 s (R4, 2026), 45 s (R5, 2003 default), 60 s (R5 later copy, R20).
    pub reach_limit_s: Seconds,
    /// Time to reach the link inverted is asked for.
    pub reach_inverted: bool,
    /// A link that takes longer to reach holds the machine, not only warns.
    pub reach_is_condition: bool,
    /// Where the bottle goes in.
    pub bottle_in_at: BottleInAt,
    /// People who may be inside with a machine while it is armed. **Source** R17: operator and one
    /// assistant.
    pub arming_people: Count,
    /// A change that can alter the mass asks for the scale again.
    pub reweigh: bool,
    /// A change that matters asks for the inspector again.
    pub reinspect: bool,
    /// A charge that nobody watches for this long has to stop.
    pub unwatched_min: Minutes,
    /// Hot work is done beside the charging table.
    pub hot_work_by_charging: bool,
    /// Packs of one string may differ by this much a cell. **Source** own starting value.
    pub pack_difference_mv: CellVoltage,
    /// Years between two tests of a bottle; countries differ. **Source** G10: 5 (US).
    pub bottle_retest_years: Count,
    /// Volume of the room bottles are filled in, in cubic metres; none in the open or in a hall.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gas_room_m3: Option<Count>,
    /// How warm it is in the hall: bottles and supplies are taken to be as warm. **Source** own
    /// starting value.
    pub hall_c: AirTemperature,
    /// How far one reading of the scale for bottles may be off. **Source** own starting value.
    pub gas_scale_uncertainty_g: Mass,
    /// A call moves into "called" this long before it.
    pub called_before_min: Minutes,
    /// A forecast with less time to spare than this is tight.
    pub tight_min: Minutes,
    /// Likely length of a bout with placing, arming and making safe.
    pub bout_min: Minutes,
    /// Hands the hall lends at once.
    pub lent_hands: Count,
    /// A team that entered nothing for this long has no word.
    pub no_word_min: Minutes,
    /// Charger channels a team has where it registered none.
    pub channels: Count,
    /// What may break the main power. Link only (R8), named switches for 1.5 kg (R15).
    pub isolator: Isolator,
    /// A clamp counts as a weapon restraint. Forbidden by one club (R14), common in a beginner's
    /// guide.
    pub clamp_as_restraint: bool,
    /// When the weapon bar comes off while arming. Before gas or after it (F1); on during power-up
    /// (R4, R7); last (R1).
    pub bar_off: BarOff,
    /// How a lifting arm rests. Down; up when the ram could tear the chassis (F1, F3).
    pub arm_at_rest: ArmAtRest,
    /// When the transmitter comes on. Before main power (R1); off while people are inside (F22).
    pub transmitter_on: TransmitterOn,
    /// Which way the weapon looks while arming. Away from people and doors, or at the far wall (R1).
    pub aim: Aim,
    /// Where packs are charged. Own table (F5), staffed table (F5), designated area (R19), outside
    /// (G13), swap desk (R21).
    pub charging_at: ChargingAt,
    /// Who watches packs on charge. Never unwatched (R12, R13, R18, R19); by whom differs (F5).
    pub charging_watch: ChargingWatch,
    /// Charges one person may watch at once. **Source** own starting value.
    pub charges_per_watcher: Count,
    /// A charge that nobody looked at for this long counts as unwatched. **Source** own starting
    /// value.
    pub charge_sight_min: Minutes,
    /// Whoever watches may do other work within sight of the charge. **Source** own starting value,
    /// for small teams.
    pub watcher_may_work: bool,
    /// How long a suspect pack is watched before anybody decides about it. 10 to 15 min (club pages),
    /// at least 15 min (maker's manual), at least 20 min (F15); more on own policy.
    pub observation_min: Minutes,
    /// How much of a breaker or lead is planned with. 80 % (NEC 210.20(A)); no such rule in the
    /// United Kingdom.
    pub continuous_percent: Percent,
    /// What to do with a burning pack, in the words of the event and its fire service. Salt water
    /// (R19), dry sand (R18), plenty of water: unsettled.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub burning_pack: Option<Note>,
    /// Gas is allowed. Banned at some small-class events (R4, R12).
    pub gas_allowed: bool,
    /// Highest pressure behind the regulator. 69 bar (R9), 7 bar for 150 g (R13), 3.4 bar for
    /// unrated parts; none if not given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gas_limit_mbar_gauge: Option<GaugePressure>,
    /// Time between bouts that every machine is given. 20 min (R18, R23), 40 min (R17).
    pub turnaround_min: Minutes,
    /// Time to weigh again counts against it. Not counted (R2).
    pub weighing_counts: bool,
    /// A crew reports this many bouts ahead. Two (R12).
    pub report_ahead_bouts: Count,
    /// A crew stands at the arena this long before its bout. 3 min (R21).
    pub staging_min: Minutes,
    /// Postponements a robot has in a day. One (R16).
    pub postponements: Count,
    /// How long one of them may be. 20 min (R16).
    pub postponement_min: Minutes,
    /// What happens to a robot that is late. It loses (R17, R23), or may lose (R16).
    pub late: Late,
    /// Over its limit by no more than this, a robot mends it before its next bout. 5 % (R2); none
    /// (R11).
    pub over_weight_percent: Percent,
    /// Gas counts in the weight. It does (R11, R12, R13, R15).
    pub gas_in_weight: bool,
    /// How far the scale may be off. **Source** own starting value.
    pub scale_uncertainty_g: Mass,
    /// Limit of the heavyweights. 99.8, 100, 110 and 113.4 kg (R2).
    pub heavyweight_limit_g: Mass,
    /// Limit of the small machines. 1.36 kg (R2), 1.5 kg (R11, R15).
    pub small_limit_g: Mass,
    /// Time to reset the arena between two bouts. **Source** own starting value.
    pub arena_gap_min: Minutes,
    /// A bout that starts no later than this after its time is not late, nor is a robot that is
    /// this much behind its call. 2 min (R24, non-combat).
    pub late_allowed_min: Minutes,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            stale_bench_min: min_30(),
            stale_queue_min: min_10(),
            stale_test_area_min: min_2(),
            stale_arming_min: min_1(),
            stale_elsewhere_min: min_2(),
            stale_removed_min: min_240(),
            dispute_s: s_120(),
            clock_doubtful_s: s_30(),
            withdraw_s: s_60(),
            reach_limit_s: s_45(),
            reach_inverted: false,
            reach_is_condition: false,
            bottle_in_at: BottleInAt::Bench,
            arming_people: two(),
            reweigh: true,
            reinspect: true,
            unwatched_min: min_5(),
            hot_work_by_charging: false,
            pack_difference_mv: mv_50(),
            bottle_retest_years: five(),
            gas_room_m3: None,
            hall_c: degc_20(),
            gas_scale_uncertainty_g: g_5(),
            called_before_min: min_20(),
            tight_min: min_10(),
            bout_min: min_4(),
            lent_hands: two(),
            no_word_min: min_30(),
            channels: four(),
            isolator: Isolator::default(),
            clamp_as_restraint: false,
            bar_off: BarOff::default(),
            arm_at_rest: ArmAtRest::default(),
            transmitter_on: TransmitterOn::default(),
            aim: Aim::default(),
            charging_at: ChargingAt::default(),
            charging_watch: ChargingWatch::default(),
            charges_per_watcher: four(),
            charge_sight_min: min_15(),
            watcher_may_work: true,
            observation_min: min_30(),
            continuous_percent: percent_80(),
            burning_pack: None,
            gas_allowed: true,
            gas_limit_mbar_gauge: None,
            turnaround_min: min_20(),
            weighing_counts: false,
            report_ahead_bouts: two(),
            staging_min: min_3(),
            postponements: one(),
            postponement_min: min_20(),
            late: Late::default(),
            over_weight_percent: no_percent(),
            gas_in_weight: true,
            scale_uncertainty_g: g_100(),
            heavyweight_limit_g: kg_110(),
            small_limit_g: kg_1_5(),
            arena_gap_min: min_2(),
            late_allowed_min: min_2(),
        }
    }
}

impl Settings {
    /// How long a sight of a source is good for at `place`; none in the arena, where nothing goes
    /// stale. A source that is `removed` from the machine keeps longer.
    pub fn stale_after(&self, place: Option<Place>, removed: bool) -> Option<chrono::TimeDelta> {
        let minutes = match place {
            Some(Place::Arena) => return None,
            _ if removed => self.stale_removed_min,
            // Weighed and inspected machines are closed up with the link in its holder's hand, as on the bench.
            Some(Place::PitBench | Place::Inspection | Place::Scale) => self.stale_bench_min,
            Some(Place::Queue) => self.stale_queue_min,
            Some(Place::TestArea) => self.stale_test_area_min,
            Some(Place::ArenaLoad) => self.stale_arming_min,
            Some(Place::Transport | Place::ArenaRecovery) | None => self.stale_elsewhere_min,
        };
        Some(chrono::TimeDelta::minutes(i64::from(minutes.get())))
    }
}
