//! The verdict on a robot's energy: made safe, unproved or live, and why.
//!
//! Unknown, too old or contradicted counts as live: the word is then *unproved*. *Made safe* needs
//! every source seen isolated, by a named person, recently enough, with nobody contradicting.

use super::ids::{LineId, PersonId};
use super::logbook::How;
use super::logbook::machine::{Light, LinkState, Place, Power, System, Valve};
use super::settings::Settings;
use super::state::robot::{link_out, restrained, spent};
use super::state::sight::earliest;
use super::state::{RobotFile, RobotState, Sight, Source, View};
use chrono::{DateTime, Utc};

/// May somebody put their hands in?
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Verdict {
    /// Every source seen isolated, by a named person, recently enough, nobody contradicting.
    MadeSafe,
    /// Unknown, too old, or two accounts disagree: treat as live.
    Unproved,
    /// In the arena during a bout, where it is meant to be live.
    LiveInArena,
    /// Some source was reported live.
    Live,
}

/// A source of energy of a machine.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum SourceOf {
    /// Main power, broken by the link.
    Link,
    /// The gas system.
    Gas,
    /// The weapon, held by its restraint.
    WeaponBar,
    /// The transmitter.
    Transmitter,
    /// The weapon operator's own transmitter.
    SecondTransmitter,
    /// Stored mechanical energy: rotor, arm, spring.
    Stored,
}

impl SourceOf {
    /// As programs read it.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Link => "link",
            Self::Gas => "gas",
            Self::WeaponBar => "weapon_bar",
            Self::Transmitter => "transmitter",
            Self::SecondTransmitter => "second_transmitter",
            Self::Stored => "stored",
        }
    }
}

impl Standing {
    /// As programs read it.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Isolated => "isolated",
            Self::Stale => "stale",
            Self::Disputed => "disputed",
            Self::Unknown => "unknown",
            Self::Live => "live",
        }
    }
}

/// What is known of a source.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Standing {
    /// Seen isolated, recently enough, undisputed.
    Isolated,
    /// Seen isolated, too long ago.
    Stale,
    /// Two accounts disagree.
    Disputed,
    /// Nobody said.
    Unknown,
    /// Reported live.
    Live,
}

/// One source, and who says so.
#[derive(Debug, Clone, PartialEq)]
pub struct SourceNow {
    /// Which.
    pub source: SourceOf,
    /// What is known.
    pub standing: Standing,
    /// The pack set or bottle is out of the machine.
    pub removed: bool,
    /// Done or seen, of the account that decides.
    pub how: Option<How>,
    /// Who, of the account that decides.
    pub seen_by: Option<PersonId>,
    /// When, of the account that decides.
    pub seen_at: Option<DateTime<Utc>>,
    /// The line that decides.
    pub line: Option<LineId>,
    /// Who contradicts it.
    pub against: Option<PersonId>,
    /// When it goes stale, if it is good now.
    pub good_until: Option<DateTime<Utc>>,
}

/// The verdict and what it rests on.
#[derive(Debug, Clone, PartialEq)]
pub struct Energy {
    /// The verdict.
    pub verdict: Verdict,
    /// Every source the machine has.
    pub sources: Vec<SourceNow>,
    /// When the oldest account was given, of a machine made safe.
    pub oldest: Option<DateTime<Utc>>,
}

impl Energy {
    /// A source, if the machine has it.
    pub fn source(&self, of: SourceOf) -> Option<&SourceNow> {
        self.sources.iter().find(|source| source.source == of)
    }

    /// Whether a source is known to be isolated now. One the machine does not have is.
    pub fn isolated(&self, of: SourceOf) -> bool {
        self.source(of)
            .is_none_or(|source| source.standing == Standing::Isolated)
    }

    /// What is known of a source. One the machine does not have is isolated.
    pub fn standing(&self, of: SourceOf) -> Standing {
        self.source(of)
            .map_or(Standing::Isolated, |source| source.standing)
    }
}

/// The verdict on a robot at `now`.
pub fn energy(file: &RobotFile, settings: &Settings, now: DateTime<Utc>) -> View<Energy> {
    let state = &file.state;
    let mut sources = vec![link(state)];
    if file.register.body.machine.has_gas() {
        sources.push(gas(state));
    }
    sources.push(plain(SourceOf::WeaponBar, &state.weapon_bar, restrained));
    let off = |power| power == Power::Off;
    sources.push(plain(SourceOf::Transmitter, &state.transmitter, off));
    if file.register.body.transmitters.get() > 1 {
        let second = &state.second_transmitter;
        sources.push(plain(SourceOf::SecondTransmitter, second, off));
    }
    sources.extend(stored(file));

    let place = state.place.as_ref().map(|sight| sight.value);
    for source in &mut sources {
        age(source, settings, place, now);
    }
    let changes_at = sources
        .iter()
        .fold(None, |at, source| earliest(at, source.good_until));
    let verdict = if state.in_bout.is_some() && place == Some(Place::Arena) {
        Verdict::LiveInArena
    } else if sources
        .iter()
        .any(|source| source.standing == Standing::Live)
    {
        Verdict::Live
    } else if sources
        .iter()
        .all(|source| source.standing == Standing::Isolated)
    {
        Verdict::MadeSafe
    } else {
        Verdict::Unproved
    };
    let oldest = sources.iter().filter_map(|source| source.seen_at).min();
    View {
        value: Energy {
            verdict,
            sources,
            oldest,
        },
        changes_at,
    }
}

/// Main power: a link that is out, or packs that are out, break it. A lit power light later than
/// the word that the link is out speaks louder than that word.
fn link(state: &RobotState) -> SourceNow {
    let mut link = plain(SourceOf::Link, &state.link, link_out);
    let lit = state
        .power_light
        .standing
        .as_ref()
        .filter(|light| light.value == Light::Lit);
    if let Some(light) = lit
        && link.seen_at.is_none_or(|at| light.at >= at)
        && state.link.value() != Some(LinkState::In)
    {
        link = decided(SourceOf::Link, light, Standing::Live);
    }
    let out = state
        .packs_out
        .standing
        .as_ref()
        .filter(|packs| packs.value && packs.by_a_person());
    if let Some(packs) = out {
        link.removed = true;
        if link.standing != Standing::Disputed && link.seen_at.is_none_or(|at| packs.at > at) {
            link = decided(SourceOf::Link, packs, Standing::Isolated);
            link.removed = true;
        }
    }
    link
}

/// Gas: the system at zero and the valve shut or the bottle out. Shut alone leaves it unproved.
fn gas(state: &RobotState) -> SourceNow {
    let system = plain(SourceOf::Gas, &state.system, |s| s == System::Zero);
    let valve = plain(SourceOf::Gas, &state.valve, |v| v == Valve::Shut);
    let out = state
        .bottle_out
        .standing
        .as_ref()
        .filter(|bottle| bottle.value && bottle.by_a_person());
    let shut = match out {
        Some(bottle) if valve.seen_at.is_none_or(|at| bottle.at > at) => {
            decided(SourceOf::Gas, bottle, Standing::Isolated)
        }
        _ => valve,
    };
    let removed = out.is_some();
    // The worse of the two decides; of two good ones, the older.
    let mut gas = match system.standing.cmp(&shut.standing) {
        std::cmp::Ordering::Greater => system,
        std::cmp::Ordering::Less => shut,
        std::cmp::Ordering::Equal if system.seen_at <= shut.seen_at => system,
        std::cmp::Ordering::Equal => shut,
    };
    gas.removed = removed;
    gas
}

/// Stored mechanical energy, the worst of what stores it. A machine without a spring or flywheel of
/// its own has this source only once somebody reported it: its restraint holds the weapon.
fn stored(file: &RobotFile) -> Option<SourceNow> {
    let own = file.register.body.stores_energy;
    let worst = file
        .state
        .stored
        .iter()
        .filter(|(what, source)| {
            own || source.dispute.is_some() || file.state.loaded.contains_key(what)
        })
        .map(|(_, source)| plain(SourceOf::Stored, source, spent))
        // Of two good accounts the older counts.
        .max_by_key(|source| (source.standing, std::cmp::Reverse(source.seen_at)));
    worst.or_else(|| own.then(|| plain(SourceOf::Stored, &Source::default(), spent)))
}

fn plain<T: Copy>(of: SourceOf, source: &Source<T>, isolated: impl Fn(T) -> bool) -> SourceNow {
    match (&source.standing, &source.dispute) {
        (Some(sight), Some(dispute)) => SourceNow {
            against: dispute.claimants.first().copied(),
            ..decided(of, sight, Standing::Disputed)
        },
        (Some(sight), None) if isolated(sight.value) => decided(of, sight, Standing::Isolated),
        (Some(sight), None) => decided(of, sight, Standing::Live),
        (None, _) => SourceNow {
            source: of,
            standing: Standing::Unknown,
            removed: false,
            how: None,
            seen_by: None,
            seen_at: None,
            line: None,
            against: None,
            good_until: None,
        },
    }
}

fn decided<T>(of: SourceOf, sight: &Sight<T>, standing: Standing) -> SourceNow {
    SourceNow {
        source: of,
        standing,
        removed: false,
        how: Some(sight.how),
        seen_by: sight.seen_by,
        seen_at: Some(sight.at),
        line: Some(sight.line),
        against: None,
        good_until: None,
    }
}

/// Turns an isolated source stale when its account is older than the place allows.
fn age(source: &mut SourceNow, settings: &Settings, place: Option<Place>, now: DateTime<Utc>) {
    if source.standing != Standing::Isolated {
        return;
    }
    let (Some(seen), Some(limit)) = (source.seen_at, settings.stale_after(place, source.removed))
    else {
        return;
    };
    let until = seen + limit;
    if until <= now {
        source.standing = Standing::Stale;
    } else {
        source.good_until = Some(until);
    }
}
