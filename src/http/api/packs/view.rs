//! Packs and sets as the API shows them.

use crate::calc::battery::{
    CapacityEstimate, HealthReason, HealthVerdict, PackSetOutput, ServingVerdict, SocInterval,
};
use crate::pit::ids::{ChannelId, LineId, PackId, PersonId, RobotId, SetId};
use crate::pit::logbook::things::{Looks, ThingPlace};
use crate::pit::packs::{Matching, OnCharge, PackNow, Packs, ReadBack, SetNow, SocBasis};
use crate::pit::state::Pit;
use chrono::{DateTime, Utc};
use serde::Serialize;
use utoipa::ToSchema;

/// What a state of charge rests on.
#[derive(Debug, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
enum SocBasisOf {
    /// Cells read after a proper rest.
    Rested,
    /// Cells read too soon after a current.
    Unrested,
    /// A charge that is over.
    Charged,
    /// One of these, less what its bouts since are likely to have taken.
    Fought,
}

/// How far the settings of a charger were read back.
#[derive(Debug, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
enum ReadBackOf {
    /// Nobody did yet.
    Nobody,
    /// Somebody is named by whoever began the charge, who is no second person.
    Named,
    /// A second person did, on their own word.
    Done,
}

/// How the packs of a set compare.
#[derive(Debug, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
enum MatchingOf {
    /// They differ in chemistry, cells or capacity.
    Unlike,
    /// Somebody compared them and says that they do not match.
    SaidUnlike,
    /// Not each of them was read since the last charge and bout.
    Unread,
    /// All were read.
    Read,
}

/// What a pack holds.
#[derive(Debug, Serialize, ToSchema)]
struct HoldsView {
    /// As a careful interval, of its lowest cell.
    soc: SocInterval,
    /// What that rests on.
    basis: SocBasisOf,
    /// Since when.
    at: DateTime<Utc>,
}

/// Where a pack is.
#[derive(Debug, Serialize, ToSchema)]
struct PlaceView {
    /// Where.
    place: ThingPlace,
    /// In or from which robot's pit.
    robot: RobotId,
    /// Since when.
    since: DateTime<Utc>,
    /// By whose word.
    by: Option<PersonId>,
}

/// A charge under way.
#[derive(Debug, Serialize, ToSchema)]
struct OnChargeView {
    /// The set it is part of.
    set: Option<SetId>,
    /// The channels of that set.
    channels: Vec<ChannelId>,
    /// Since when.
    since: DateTime<Utc>,
    /// Who watches it.
    watcher: Option<PersonId>,
    /// When that was last said.
    watched_at: Option<DateTime<Utc>>,
    /// Whether the settings were read back.
    read_back: ReadBackOf,
    /// By whom.
    read_back_by: Option<PersonId>,
    /// The mains failed then, and nobody has read the settings back since.
    interrupted_at: Option<DateTime<Utc>>,
    /// State of charge at its start, as planned with.
    start_soc_fraction: f64,
    /// Likely time from its start, min.
    likely_min: f64,
    /// Time from its start to plan with, min.
    planned_min: f64,
    /// That time was said by the crew or the charger rather than calculated.
    said: bool,
}

/// Cells as they were read.
#[derive(Debug, Serialize, ToSchema)]
struct ReadingView {
    /// When.
    at: DateTime<Utc>,
    /// By whom.
    by: Option<PersonId>,
    /// Every cell.
    cells_mv: Vec<i32>,
    /// The pack had rested long enough for them to be trusted.
    rested: bool,
}

/// A pack measured too warm to be charged.
#[derive(Debug, Serialize, ToSchema)]
struct CoolingView {
    /// What was measured last, degC.
    measured_c: f64,
    /// When.
    at: DateTime<Utc>,
    /// When a charge may start; none if the air is too warm ever to come there.
    cool_at: Option<DateTime<Utc>>,
}

/// A pack that somebody found wrong or set aside.
#[derive(Debug, Serialize, ToSchema)]
struct SuspectView {
    /// Since when.
    since: DateTime<Utc>,
    /// The worst it looked; none if it was set aside without a word.
    looks: Option<Looks>,
    /// By whose word.
    by: Option<PersonId>,
    /// Who watches it.
    watcher: Option<PersonId>,
    /// Until then it is only watched; none while it is not set aside. Afterwards two people have to
    /// look: time clears nothing.
    observe_until: Option<DateTime<Utc>>,
    /// Who found it good since; a second person has to.
    cleared_by: Option<PersonId>,
    /// Nothing anybody says makes it good again.
    for_good: bool,
}

/// A pack as it stands.
#[derive(Debug, Serialize, ToSchema)]
pub struct PackView {
    /// The pack.
    pack: PackId,
    /// What is written on it.
    label: String,
    /// Where it is; none if nobody said.
    place: Option<PlaceView>,
    /// The charge it is on.
    charge: Option<OnChargeView>,
    /// When that is likely to be over, with its margin.
    ready_at: Option<DateTime<Utc>>,
    /// What it holds; on charge, what it held at its start. None if nothing tells.
    holds: Option<HoldsView>,
    /// Its cells as they were read last.
    reading: Option<ReadingView>,
    /// Why that reading cannot be right.
    doubtful: Option<String>,
    /// How it cools, if it was measured warm.
    cooling: Option<CoolingView>,
    /// Somebody found it wrong, or set it aside.
    suspect: Option<SuspectView>,
    /// How healthy it is.
    verdict: HealthVerdict,
    /// Why; worst first.
    reasons: Vec<HealthReason>,
    /// Highest less lowest cell at its last rest.
    spread_mv: Option<f64>,
    /// Discharged over nominal capacity, those before the event counted.
    full_cycles: f64,
    /// Resistance of a cell as a charger read it last, mohm.
    cell_mohm: Option<f64>,
    /// That over what it was at first.
    resistance_ratio: Option<f64>,
    /// Capacity by its counted charges; none if none of them tells it.
    capacity: Option<CapacityEstimate>,
    /// Bouts at this event.
    bouts: u32,
    /// Bouts since its last charge.
    bouts_since_charge: u32,
    /// The lines that say all this, oldest first.
    lines: Vec<LineId>,
}

impl PackView {
    /// The view of a pack.
    pub fn of(id: PackId, pack: &PackNow) -> Self {
        let story = &pack.story;
        Self {
            pack: id,
            label: pack.body.label.to_string(),
            place: story.place.map(|is| PlaceView {
                place: is.place,
                robot: is.robot,
                since: is.since,
                by: is.by,
            }),
            charge: story.charge.as_ref().map(on_charge),
            ready_at: pack.ready_at,
            holds: story.soc.map(|(soc, basis)| {
                let (basis, at) = match basis {
                    SocBasis::Rested(at) => (SocBasisOf::Rested, at),
                    SocBasis::Unrested(at) => (SocBasisOf::Unrested, at),
                    SocBasis::Charged(at) => (SocBasisOf::Charged, at),
                    SocBasis::Fought(at) => (SocBasisOf::Fought, at),
                };
                HoldsView { soc, basis, at }
            }),
            reading: story.last_reading().map(|reading| ReadingView {
                at: reading.at,
                by: reading.by,
                cells_mv: reading.cells_mv.clone(),
                rested: reading.rested,
            }),
            doubtful: story.doubtful.clone(),
            cooling: pack.cooling.map(|cooling| CoolingView {
                measured_c: cooling.measured_c,
                at: cooling.at,
                cool_at: cooling.cool_at,
            }),
            suspect: story.suspect.map(|suspect| SuspectView {
                since: suspect.since,
                looks: suspect.looks,
                by: suspect.by,
                watcher: suspect.watcher,
                observe_until: suspect.observe_until,
                cleared_by: suspect.cleared_by,
                for_good: suspect.is_for_good(),
            }),
            verdict: pack.condition.verdict,
            reasons: pack.condition.reasons.clone(),
            spread_mv: pack.condition.spread_mv,
            full_cycles: pack.condition.full_cycles,
            cell_mohm: story.resistances.last().map(|read| read.mohm),
            resistance_ratio: pack.condition.resistance_ratio,
            capacity: pack.condition.capacity,
            bouts: story.bouts,
            bouts_since_charge: story.bouts_since_charge,
            lines: story.lines.clone(),
        }
    }
}

fn on_charge(charge: &OnCharge) -> OnChargeView {
    let (read_back, read_back_by) = match charge.read_back {
        ReadBack::Nobody => (ReadBackOf::Nobody, None),
        ReadBack::Named(who) => (ReadBackOf::Named, Some(who)),
        ReadBack::Done(who, _) => (ReadBackOf::Done, Some(who)),
    };
    OnChargeView {
        set: charge.set,
        channels: charge.channels.clone(),
        since: charge.since,
        watcher: charge.watcher,
        watched_at: charge.watched_at,
        read_back,
        read_back_by,
        interrupted_at: charge.interrupted,
        start_soc_fraction: charge.start_soc,
        likely_min: charge.likely_min,
        planned_min: charge.ready_min,
        said: charge.said,
    }
}

/// How the packs of a set compare.
#[derive(Debug, Serialize, ToSchema)]
struct MatchingView {
    /// How.
    matching: MatchingOf,
    /// Highest less lowest mean of their cells, if all were read.
    apart_mv: Option<i32>,
    /// Most that may be, by the event's settings.
    most_apart_mv: i32,
    /// When the last of them was read or compared.
    at: Option<DateTime<Utc>>,
}

/// A set as it stands.
#[derive(Debug, Serialize, ToSchema)]
pub struct SetView {
    /// The set.
    set: SetId,
    /// What it is called.
    label: String,
    /// The robot it is for: as registered, else the one it was last reported with.
    robot: Option<RobotId>,
    /// Its packs, string by string; one string where nobody said.
    strings: Vec<Vec<PackId>>,
    /// What the emptiest of its packs holds; none unless that is known of each.
    soc: Option<SocInterval>,
    /// Whether it serves the next bout.
    serves: ServingVerdict,
    /// Why not, or why that is unproved.
    reasons: Vec<String>,
    /// Whether its packs match.
    matching: MatchingView,
    /// What its packs give together, and what the robot's parts say to it.
    gives: Option<PackSetOutput>,
    /// Why that cannot be said.
    gives_nothing: Vec<String>,
    /// When the last of its packs on charge is ready; none if none of them is on charge.
    ready_at: Option<DateTime<Utc>>,
    /// One of its packs is suspect or unhealthy.
    suspect: bool,
}

impl SetView {
    /// The view of a set among `packs`.
    pub fn of(id: SetId, set: &SetNow, packs: &Packs, pit: &Pit) -> Self {
        let (matching, apart_mv, at) = match set.matching {
            Matching::Unlike => (MatchingOf::Unlike, None, None),
            Matching::SaidUnlike(at) => (MatchingOf::SaidUnlike, None, Some(at)),
            Matching::Unread => (MatchingOf::Unread, None, None),
            Matching::Read { apart_mv, at } => (MatchingOf::Read, Some(apart_mv), Some(at)),
        };
        Self {
            set: id,
            label: set.body.label.to_string(),
            robot: set.robot,
            strings: set.strings.clone(),
            soc: set.holds(&packs.packs),
            serves: set.serves,
            reasons: set.reasons.clone(),
            matching: MatchingView {
                matching,
                apart_mv,
                most_apart_mv: pit.settings().pack_difference_mv.get(),
                at,
            },
            gives: set.arithmetic.as_ref().ok().cloned(),
            gives_nothing: set.arithmetic.as_ref().err().cloned().unwrap_or_default(),
            ready_at: set.ready_at,
            suspect: set.suspect,
        }
    }
}
