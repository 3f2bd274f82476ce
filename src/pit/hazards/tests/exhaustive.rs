//! Every combination of what can be known of the sources, where the machine stands and who is
//! exposed, walked through the real fold and the real rules and compared with an oracle that is
//! written here from the two matrices of the safety page, by hand.

use super::*;
use crate::pit::energy::{Verdict, energy};
use crate::pit::hazards::matrix::{Site, at_place, missing, works};
use crate::pit::library::tasks::{BarIs, Conditions, GasIs, LinkIs, StandIs, TransmitterIs};
use crate::pit::logbook::machine::Power;
use std::collections::BTreeMap;

/// What can be known of a source.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Known {
    Unknown,
    Isolated,
    Old,
    Live,
    Disputed,
}

const KNOWN: [Known; 5] = [
    Known::Unknown,
    Known::Isolated,
    Known::Old,
    Known::Live,
    Known::Disputed,
];

/// Accounts that make a source so, before `NOW`.
fn tell(lines: &mut Vec<Line>, known: Known, isolated: &Body, live: &Body) {
    let mut push = |at_s, who, how, body: &Body| {
        let n = 100 + lines.len() as u128;
        lines.push(line(n, at_s, who, how, body.clone()));
    };
    match known {
        Known::Unknown => {}
        Known::Isolated => push(NOW - 20, ANA, How::Saw, isolated),
        Known::Old => push(NOW - 3_600, ANA, How::Saw, isolated),
        Known::Live => push(NOW - 20, ANA, How::Did, live),
        Known::Disputed => {
            push(NOW - 40, ANA, How::Did, isolated);
            push(NOW - 20, BEN, How::Saw, live);
        }
    }
}

/// Seconds after the start at which the states are judged.
const NOW: i64 = 7_200;

/// One state of the model.
#[derive(Debug, Clone, Copy)]
struct State {
    link: Known,
    gas: Known,
    bar: Known,
    held: bool,
    transmitter: Known,
    place: Option<Place>,
    hands: bool,
    allowed: bool,
}

impl State {
    fn lines(self) -> Vec<Line> {
        let mut lines = vec![robot(Machine::FlipperHeavyweight)];
        if let Some(at) = self.place {
            lines.push(line(2, NOW - 60, CAL, How::Did, place(at)));
        }
        if let Some(at) = self.place.filter(|_| self.allowed) {
            let allowed = AllowedHere {
                place: at,
                for_min: Minutes::new(5).unwrap(),
                because: None,
            };
            lines.push(Line {
                how: None,
                entered_by: Author {
                    person: Some(CAL),
                    role: Role::Marshal,
                },
                ..line(3, NOW - 50, CAL, How::Did, Body::AllowedHere(allowed))
            });
        }
        let restrained = if self.held { Bar::Held } else { Bar::On };
        let gas_live = match self.gas {
            Known::Disputed => gas(None, Some(System::Live)),
            _ => gas(Some(Valve::Open), Some(System::Live)),
        };
        tell(
            &mut lines,
            self.link,
            &link(LinkState::Out),
            &link(LinkState::In),
        );
        tell(
            &mut lines,
            self.gas,
            &gas(Some(Valve::Shut), Some(System::Zero)),
            &gas_live,
        );
        tell(&mut lines, self.bar, &bar(restrained), &bar(Bar::Off));
        tell(
            &mut lines,
            self.transmitter,
            &transmitter(Power::Off),
            &transmitter(Power::On),
        );
        lines
    }

    /// Nothing goes stale in the arena.
    fn seen(self, known: Known) -> Known {
        match (known, self.place) {
            (Known::Old, Some(Place::Arena)) => Known::Isolated,
            (known, _) => known,
        }
    }

    fn sources(self) -> [Known; 4] {
        [self.link, self.gas, self.bar, self.transmitter].map(|known| self.seen(known))
    }

    /// The place matrix: out with its holder and restrained everywhere but in the test area and the
    /// arena. A place nobody named is no leave.
    fn isolated_here(self) -> bool {
        let free = matches!(
            self.place,
            Some(Place::TestArea | Place::ArenaLoad | Place::Arena | Place::ArenaRecovery)
        );
        !(free || self.allowed && self.place.is_some())
    }

    fn verdict(self) -> Verdict {
        let sources = self.sources();
        if sources.contains(&Known::Live) {
            Verdict::Live
        } else if sources.iter().all(|known| *known == Known::Isolated) {
            Verdict::MadeSafe
        } else {
            Verdict::Unproved
        }
    }

    /// What the rules about sources have to say, from the words of the safety page.
    fn oracle(self) -> Vec<(&'static str, Severity)> {
        let [link, gas, bar, transmitter] = self.sources();
        let reported_live = |known| matches!(known, Known::Live | Known::Disputed);
        let doubtful = |known| matches!(known, Known::Unknown | Known::Old | Known::Disputed);
        let moving = self.place == Some(Place::Transport);
        let mut found = Vec::new();
        if self.isolated_here() && reported_live(link) {
            found.push(("H01", Severity::StopNow));
        }
        if self.hands && reported_live(link) {
            found.push(("H02", Severity::StopNow));
        }
        if self.hands && (reported_live(gas) || gas == Known::Unknown) {
            found.push(("H03", Severity::StopNow));
        }
        let unsure = bar == Known::Unknown && (self.hands || moving);
        if self.isolated_here() && (reported_live(bar) || unsure) {
            found.push(("H04", Severity::StopNow));
        }
        let off_here = matches!(
            self.place,
            Some(Place::Transport | Place::PitBench | Place::Queue | Place::Scale)
        );
        if off_here && !self.allowed && transmitter == Known::Live {
            let link_live = link == Known::Live;
            found.push((
                "H09",
                if link_live {
                    Severity::StopNow
                } else {
                    Severity::Hold
                },
            ));
        }
        let armed = reported_live(link) || gas == Known::Live;
        let arming = self.place == Some(Place::ArenaLoad)
            || matches!(self.place, Some(Place::Arena | Place::Queue)) && armed;
        let exposed = self.hands || moving || self.place == Some(Place::Queue) || arming;
        if exposed && self.sources().into_iter().any(doubtful) {
            found.push(("H28", Severity::Hold));
        }
        found
    }
}

/// Rules that speak of nothing but the sources of this model.
const OF_SOURCES: [&str; 6] = ["H01", "H02", "H03", "H04", "H09", "H28"];

fn every_state() -> impl Iterator<Item = State> {
    let places = || std::iter::once(None).chain(Place::ALL.map(Some));
    KNOWN
        .into_iter()
        .flat_map(move |link| {
            KNOWN.into_iter().flat_map(move |gas| {
                KNOWN.into_iter().flat_map(move |bar| {
                    KNOWN.into_iter().flat_map(move |transmitter| {
                        places().flat_map(move |place| {
                            [false, true].into_iter().flat_map(move |hands| {
                                [false, true].into_iter().flat_map(move |allowed| {
                                    [false, true].into_iter().map(move |held| State {
                                        link,
                                        gas,
                                        bar,
                                        held,
                                        transmitter,
                                        place,
                                        hands,
                                        allowed,
                                    })
                                })
                            })
                        })
                    })
                })
            })
        })
        // A second restraint is another state only where the weapon is restrained.
        .filter(|state| !state.held || matches!(state.bar, Known::Isolated | Known::Old))
}

#[test]
fn every_state_is_judged_as_the_matrices_say() {
    let now = start() + TimeDelta::seconds(NOW);
    let (mut states, mut spoke) = (0, BTreeMap::<&str, u32>::new());
    for state in every_state() {
        states += 1;
        let pit = Pit::fold(&state.lines());
        let file = pit.robot(ROBOT).unwrap();
        let verdict = energy(file, pit.settings(), now).value.verdict;
        assert_eq!(verdict, state.verdict(), "{state:?}");
        let safe = state
            .sources()
            .iter()
            .all(|known| *known == Known::Isolated);
        assert_eq!(verdict == Verdict::MadeSafe, safe, "{state:?}");

        let work = if state.hands { hands_in() } else { idle() };
        let mut found: Vec<(&str, Severity)> = hazards(&pit, ROBOT, &work, now)
            .value
            .iter()
            .map(|hazard| (hazard.rule, hazard.severity()))
            .filter(|(rule, _)| OF_SOURCES.contains(rule))
            .collect();
        found.sort_unstable();
        assert_eq!(found, state.oracle(), "{state:?}");
        for (rule, _) in found {
            *spoke.entry(rule).or_default() += 1;
        }
    }
    println!("{states} states; spoke: {spoke:?}");
    assert!(states > 25_000);
    for rule in OF_SOURCES {
        let spoke = spoke.get(rule).copied().unwrap_or_default();
        assert!(
            0 < spoke && spoke < states,
            "{rule} speaks in some states, not in all"
        );
    }
}

/// The place matrix as the safety page has it, row by row.
#[test]
fn the_place_matrix_is_the_one_on_the_page() {
    use {BarIs as B, GasIs as G, LinkIs as L, StandIs as S, TransmitterIs as T};
    let rows = [
        (Site::Transport, L::Out, G::Zero, B::On, T::Off, S::Any),
        (
            Site::PitBench,
            L::Out,
            G::Zero,
            B::Restrained,
            T::Off,
            S::Yes,
        ),
        (Site::GasStation, L::Out, G::Zero, B::On, T::Off, S::Any),
        // The bar may be off the scale reading, then back on at once.
        (Site::Scale, L::Out, G::Zero, B::Any, T::Off, S::Any),
        (Site::Inspection, L::Out, G::Zero, B::On, T::Off, S::Yes),
        (Site::TestArea, L::Any, G::Any, B::Any, T::Any, S::Any),
        (Site::Queue, L::Out, G::Zero, B::On, T::Off, S::Any),
        (Site::ArenaLoad, L::Any, G::Any, B::Any, T::Any, S::Any),
        (Site::Arena, L::In, G::Live, B::Off, T::Driver, S::Any),
        (Site::ArenaRecovery, L::Any, G::Any, B::Any, T::Any, S::Any),
    ];
    for (site, link, gas, bar, transmitter, stand) in rows {
        let asks = Conditions {
            link: Some(link),
            gas: Some(gas),
            weapon_bar: Some(bar),
            transmitter: Some(transmitter),
            stand: Some(stand),
        };
        assert_eq!(at_place(site).map(|row| row.asks), Some(asks), "{site:?}");
    }
    for site in [Site::ChargingTable, Site::Quarantine] {
        assert_eq!(
            at_place(site).map(|row| row.asks),
            Some(Conditions::default())
        );
    }
}

/// The fold and the matrix agree on where power may be.
#[test]
fn power_may_be_where_the_matrix_does_not_ask_for_the_link_out() {
    for place in Place::ALL {
        let out = at_place(place.into()).is_some_and(|row| row.asks.link == Some(LinkIs::Out));
        assert_eq!(place.may_be_live(), !out, "{place:?}");
    }
}

#[test]
fn the_work_matrix_names_rules_that_exist_and_work_that_is_isolated() {
    assert_eq!(works().len(), 17, "rows of the page");
    for row in works() {
        for rule in &row.rules {
            assert!(Rule::named(rule).is_some(), "{}: {rule}", row.work);
        }
        let tested = ["failsafe", "drive_test", "weapon_test", "bind", "charging"];
        if !tested.contains(&row.work.as_str()) {
            assert_eq!(row.asks.link, Some(LinkIs::Out), "{}", row.work);
            assert_eq!(
                row.asks.transmitter,
                Some(TransmitterIs::Off),
                "{}",
                row.work
            );
        }
    }
}

/// What work asks for and is not there: exactly the sources that are not known to be isolated.
#[test]
fn what_work_lacks_is_what_is_not_known_to_be_isolated() {
    let now = start() + TimeDelta::seconds(NOW);
    let asks = Conditions {
        link: Some(LinkIs::Out),
        gas: Some(GasIs::Zero),
        weapon_bar: Some(BarIs::Restrained),
        transmitter: Some(TransmitterIs::Off),
        stand: Some(StandIs::Any),
    };
    for state in every_state().filter(|state| !state.hands && !state.allowed) {
        let pit = Pit::fold(&state.lines());
        let file = pit.robot(ROBOT).unwrap();
        let energy = energy(file, pit.settings(), now).value;
        let lacks: Vec<(&str, bool)> = missing(&asks, &file.state, &energy)
            .iter()
            .map(|missing| (missing.asked, missing.doubt))
            .collect();
        let names = [
            "link out",
            "gas zero",
            "weapon restrained",
            "transmitter off",
        ];
        let expected: Vec<(&str, bool)> = names
            .into_iter()
            .zip(state.sources())
            .filter(|(_, known)| *known != Known::Isolated)
            .map(|(name, known)| (name, known != Known::Live))
            .collect();
        assert_eq!(lacks, expected, "{state:?}");
    }
}

/// In its bout a machine is live where it is meant to be, and nobody is alarmed.
#[test]
fn nothing_speaks_of_a_source_during_a_bout() {
    let now = start() + TimeDelta::seconds(NOW);
    for state in every_state().filter(|state| state.place == Some(Place::Arena) && !state.hands) {
        let mut lines = state.lines();
        lines.push(bout_at(60));
        lines.push(Line {
            how: None,
            subject: Subject::Bout(BOUT),
            ..line(
                41,
                NOW - 5,
                CAL,
                How::Did,
                Body::BoutStarted(bout::Started {}),
            )
        });
        let pit = Pit::fold(&lines);
        let file = pit.robot(ROBOT).unwrap();
        assert_eq!(
            energy(file, pit.settings(), now).value.verdict,
            Verdict::LiveInArena
        );
        assert_eq!(found(&lines, &idle(), NOW), [], "{state:?}");
    }
}
