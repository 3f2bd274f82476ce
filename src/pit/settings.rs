//! Rules and limits on which events differ: settings with defaults, never constants.

use crate::calc::units::{Count, Minutes, Seconds};
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
default_of!(min_4, Minutes, 4);
default_of!(min_10, Minutes, 10);
default_of!(min_20, Minutes, 20);
default_of!(min_30, Minutes, 30);
default_of!(min_240, Minutes, 240);
default_of!(s_30, Seconds, 30);
default_of!(s_45, Seconds, 45);
default_of!(s_60, Seconds, 60);
default_of!(s_120, Seconds, 120);
default_of!(two, Count, 2);
default_of!(four, Count, 4);

/// Where the event lets the bottle go in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum BottleInAt {
    /// On the bench.
    #[default]
    Bench,
    /// In the arena queue.
    Queue,
    /// In the arena.
    Arena,
}

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
    /// Where the bottle goes in.
    pub bottle_in_at: BottleInAt,
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
            bottle_in_at: BottleInAt::Bench,
            called_before_min: min_20(),
            tight_min: min_10(),
            bout_min: min_4(),
            lent_hands: two(),
            no_word_min: min_30(),
            channels: four(),
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
