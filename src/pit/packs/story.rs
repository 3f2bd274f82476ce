//! What the lines say of each pack: a fold in order of time.

mod charge;
mod suspect;
mod tell;

pub use suspect::Suspect;
pub use tell::stories;
pub(super) use tell::{ASSUMED_USE, CHARGED};

use super::build::build;
use crate::calc::battery::{CapacityCharge, SocInterval};
use crate::calc::units::{Count, Current};
use crate::pit::ids::{ChannelId, LineId, PersonId, RobotId, SetId};
use crate::pit::logbook::register::{Chemistry, Pack};
use crate::pit::logbook::things::ThingPlace;
use chrono::{DateTime, Utc};

/// Where a pack is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Place {
    /// Where.
    pub place: ThingPlace,
    /// In or from which robot's pit.
    pub robot: RobotId,
    /// Since when.
    pub since: DateTime<Utc>,
    /// By whose word.
    pub by: Option<PersonId>,
}

/// Rest voltages as somebody read them.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// When.
    pub at: DateTime<Utc>,
    /// By whom.
    pub by: Option<PersonId>,
    /// Every cell. **Units** mV.
    pub cells_mv: Vec<i32>,
    /// The pack had rested long enough for them to be trusted.
    pub rested: bool,
    /// Which rest it was: readings of one rest have the same number.
    pub rest: usize,
}

impl Reading {
    /// The cells. **Units** V.
    pub fn volts(&self) -> Vec<f64> {
        self.cells_mv
            .iter()
            .map(|mv| f64::from(*mv) / 1000.0)
            .collect()
    }

    /// The lowest cell. **Units** V.
    pub fn lowest_v(&self) -> Option<f64> {
        self.cells_mv.iter().min().map(|mv| f64::from(*mv) / 1000.0)
    }
}

/// Who read the settings of a charger back.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ReadBack {
    /// Nobody yet.
    Nobody,
    /// Named by whoever started the charge: that is no second person.
    Named(PersonId),
    /// On their own word.
    Done(PersonId, DateTime<Utc>),
}

/// A charge under way.
#[derive(Debug, Clone, PartialEq)]
pub struct OnCharge {
    /// The set it is part of.
    pub set: Option<SetId>,
    /// The channels of that set.
    pub channels: Vec<ChannelId>,
    /// Since when.
    pub since: DateTime<Utc>,
    /// Who started it.
    pub by: Option<PersonId>,
    /// Who entered that.
    pub entered_by: Option<PersonId>,
    /// Who watches it.
    pub watcher: Option<PersonId>,
    /// When that was last said.
    pub watched_at: Option<DateTime<Utc>>,
    /// The chemistry its charger is set to.
    pub chemistry: Option<Chemistry>,
    /// The cells in series it is set to.
    pub cells: Option<Count>,
    /// The current it is set to, for each pack.
    pub current: Option<Current>,
    /// The pack was in the machine when it began, and nobody has said since that it is on the table.
    pub in_machine: bool,
    /// Who read the settings back.
    pub read_back: ReadBack,
    /// The mains failed then, and nobody has read the settings back since.
    pub interrupted: Option<DateTime<Utc>>,
    /// State of charge at its start, as planned with.
    pub start_soc: f64,
    /// Likely time from its start. **Units** min.
    pub likely_min: f64,
    /// Time from its start to plan with. **Units** min.
    pub ready_min: f64,
    /// That time was said by the crew or the charger rather than calculated.
    pub said: bool,
}

/// What a state of charge rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SocBasis {
    /// Cells read after a proper rest.
    Rested(DateTime<Utc>),
    /// Cells read too soon after a current.
    Unrested(DateTime<Utc>),
    /// A charge that is over.
    Charged(DateTime<Utc>),
    /// One of these, less what its bouts since take.
    Fought(DateTime<Utc>),
}

/// A resistance as a charger read it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Resistance {
    /// When.
    pub at: DateTime<Utc>,
    /// Mean of the cells. **Units** mohm.
    pub mohm: f64,
    /// Temperature told with it. **Units** degC.
    pub pack_c: Option<f64>,
    /// State of charge then, likely.
    pub soc: Option<f64>,
}

/// What is known of a pack.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Story {
    /// The robot whose crew spoke of it last.
    pub robot: Option<RobotId>,
    /// Where it is.
    pub place: Option<Place>,
    /// Rest voltages, oldest first.
    pub readings: Vec<Reading>,
    /// Why its last reading cannot be right.
    pub doubtful: Option<String>,
    /// The charge it is on.
    pub charge: Option<OnCharge>,
    /// What it holds, as a careful interval, and what that rests on.
    pub soc: Option<(SocInterval, SocBasis)>,
    /// Bouts at this event.
    pub bouts: u32,
    /// Bouts since its last charge.
    pub bouts_since_charge: u32,
    /// When its last bout was over.
    pub fought_at: Option<DateTime<Utc>>,
    /// When its last charge was over.
    pub charged_at: Option<DateTime<Utc>>,
    /// Temperatures since its last bout, oldest first. **Units** degC.
    pub warm: Vec<(DateTime<Utc>, f64)>,
    /// Resistances, oldest first.
    pub resistances: Vec<Resistance>,
    /// What each discharge took: counted by the charger, estimated otherwise. **Units** Ah.
    pub discharges_ah: Vec<f64>,
    /// What a bout took, where a charger counted it. **Units** Ah of the pack.
    pub counted_bouts_ah: Vec<f64>,
    /// Charges that were counted, oldest first: what they tell of its capacity.
    pub counted_charges: Vec<CapacityCharge>,
    /// Somebody compared it with the others of its set, since its last charge and bout.
    pub matched: Option<(bool, DateTime<Utc>)>,
    /// By what people say it is charged since its last bout; none if nobody said anything.
    pub said_charged: Option<bool>,
    /// Somebody found it wrong, or set it aside.
    pub suspect: Option<Suspect>,
    /// The lines that say all this, oldest first.
    pub lines: Vec<LineId>,
}

impl Story {
    /// The last reading.
    pub fn last_reading(&self) -> Option<&Reading> {
        self.readings.last()
    }

    /// The last reading, if nothing has changed its charge since.
    pub fn standing_reading(&self) -> Option<&Reading> {
        let at = match self.soc?.1 {
            SocBasis::Rested(at) | SocBasis::Unrested(at) => at,
            SocBasis::Charged(_) | SocBasis::Fought(_) => return None,
        };
        self.last_reading().filter(|reading| reading.at == at)
    }

    /// The last reading, if no charge or bout has ended since.
    pub fn reading_since_current(&self) -> Option<&Reading> {
        let last_current = self.fought_at.max(self.charged_at);
        self.last_reading()
            .filter(|reading| last_current.is_none_or(|since| reading.at >= since))
    }

    /// Whether it is in the machine of `robot`.
    pub fn is_in(&self, robot: RobotId) -> bool {
        self.place
            .is_some_and(|is| is.place == ThingPlace::Machine && is.robot == robot)
    }

    /// The lowest cell ever read below what a cell comes back from. **Units** V.
    pub(super) fn lowest_v_below(&self, pack: &Pack) -> Option<f64> {
        let limit = build(pack).chemistry.quarantine_below_v();
        self.readings
            .iter()
            .filter_map(Reading::lowest_v)
            .filter(|volts| *volts < limit)
            .reduce(f64::min)
    }
}
