//! Who may write which kind of line: the table, and what it leaves to the body of a line.

use crate::pit::logbook::bout::Postponing;
use crate::pit::logbook::hall::{Clearing, DangerOf, Said};
use crate::pit::logbook::station::Step;
use crate::pit::logbook::{Body, Kind, Role};

/// How far a right reaches.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Reach {
    /// Nowhere.
    Nothing,
    /// To what belongs to the own team.
    OwnTeam,
    /// Everywhere at the event.
    Everything,
}

use Reach::{Everything as E, Nothing as N, OwnTeam as T};

/// How far `role` may write lines of `kind`, whatever they say.
pub fn may_write_kind(role: Role, kind: Kind) -> Reach {
    #[rustfmt::skip]
    let [crew, lead, official, marshal, organiser, program] = match kind {
        //                                             crew lead offi mars orga prog
        Kind::RegisterEvent =>                         [N, N, N, N, E, N],
        Kind::RegisterTeam =>                          [N, T, N, N, E, N],
        Kind::RegisterPerson =>                        [N, T, N, N, E, N],
        Kind::RegisterRobot =>                         [N, T, N, N, E, N],
        Kind::RegisterPack | Kind::RegisterSet =>      [N, T, N, N, E, N],
        Kind::RegisterChannel | Kind::RegisterBottle => [N, T, N, N, E, N],
        Kind::RegisterCharger | Kind::RegisterCircuit => [N, T, N, N, E, N],
        Kind::RegisterSupply | Kind::RegisterPartType => [N, T, N, N, E, N],
        Kind::RegisterLibrary =>                       [N, T, N, N, E, N],
        Kind::RegisterBout =>                          [N, N, N, N, E, E],
        // Sights and acts: stations and marshals see every robot, a program sees nothing.
        Kind::Link | Kind::Gas | Kind::WeaponBar =>    [T, T, E, E, N, N],
        Kind::Transmitter | Kind::PowerLight =>        [T, T, E, E, N, N],
        Kind::Stand | Kind::Looked =>                  [T, T, E, E, N, N],
        Kind::Stored | Kind::Trouble | Kind::Inside => [T, T, E, E, N, N],
        Kind::Place =>                                 [T, T, E, E, E, E],
        // Chargers, scales and filling stations may report by themselves.
        Kind::Pack | Kind::Charge | Kind::Bottle =>    [T, T, E, E, N, E],
        Kind::SupplyWeighed =>                         [T, T, E, E, E, E],
        Kind::Stock =>                                 [T, T, N, N, N, N],
        Kind::Part | Kind::Loan | Kind::Count =>       [T, T, N, E, N, N],
        Kind::Damage | Kind::Check | Kind::Task =>     [T, T, E, E, N, N],
        Kind::Photo =>                                 [T, T, E, E, N, N],
        Kind::Proof =>                                 [T, T, E, E, N, E],
        Kind::Station =>                               [T, T, E, E, E, N],
        Kind::Changed =>                               [T, T, E, E, N, N],
        Kind::Duty =>                                  [T, T, N, N, N, N],
        Kind::LinkPlan =>                              [T, T, N, N, N, N],
        Kind::Called =>                                [N, N, E, E, E, E],
        Kind::Answered =>                              [T, T, E, E, E, N],
        Kind::Postponement =>                          [T, T, E, E, E, N],
        Kind::BoutStarted | Kind::BoutEnded =>         [N, N, E, E, E, E],
        Kind::CallsMoved =>                            [N, N, N, N, E, E],
        Kind::AllowedHere =>                           [N, N, N, E, N, N],
        Kind::Clearance =>                             [T, T, N, E, E, N],
        // Whoever feels bad air says so; a monitor reports by itself.
        Kind::Air =>                                   [E, E, E, E, E, E],
        // Whoever sees danger says so, about any robot.
        Kind::Danger =>                                [E, E, E, E, E, E],
        Kind::EveryoneStop =>                          [E, E, E, E, E, N],
        Kind::Announced =>                             [N, N, N, N, E, N],
        // For oneself and whoever stands beside one without a phone.
        Kind::AnnouncementSeen =>                      [T, T, E, E, E, N],
        Kind::Hazard =>                                [T, T, E, E, E, N],
        // linkout publishes plans itself.
        Kind::Planned =>                               [N, N, N, N, N, N],
        // What a line takes back decides: `may_correct`.
        Kind::Void =>                                  [E, E, E, E, E, E],
    };
    match role {
        Role::Crew => crew,
        Role::Lead => lead,
        Role::Official => official,
        Role::Marshal => marshal,
        Role::Organiser => organiser,
        Role::Wall => N,
        Role::Program => program,
    }
}

/// How far `role` may write a line that says `body`.
pub fn may_write(role: Role, body: &Body) -> Reach {
    let by_kind = may_write_kind(role, body.kind());
    let allowed = match body {
        Body::Hazard(word) if word.said == Said::Accepted => role == Role::Lead,
        Body::Danger(danger) => match danger.what {
            DangerOf::Over => matches!(role, Role::Marshal | Role::Organiser),
            DangerOf::Coming => {
                matches!(role, Role::Official | Role::Marshal | Role::Organiser)
            }
            _ => true,
        },
        // A crew asks; what the event allows is for the organiser.
        Body::Postponement(word) => word.said == Postponing::Asked || role == Role::Organiser,
        // A crew asks; nobody answers for their own machine.
        Body::Clearance(word) => {
            word.said == Clearing::Asked || matches!(role, Role::Marshal | Role::Organiser)
        }
        // Who is next and who is served is the station's word; a crew asks and leaves.
        Body::Station(at) => {
            !matches!(at.step, Step::Next | Step::Serving)
                || matches!(role, Role::Official | Role::Marshal | Role::Organiser)
        }
        // Anyone stops everyone; going on is for whoever answers for it.
        Body::EveryoneStop(order) => order.stop || matches!(role, Role::Marshal | Role::Organiser),
        _ => true,
    };
    if allowed { by_kind } else { N }
}

/// Whether `role` may put right or take back a line that somebody entered as `entered_as`: one's
/// own always, a team's among its people, a station's among officials, any by those who answer for
/// all. So a crew cannot take back what a marshal saw.
pub fn may_correct(role: Role, entered_as: Role, is_own: bool) -> bool {
    let team = |role| matches!(role, Role::Crew | Role::Lead);
    match role {
        _ if is_own => true,
        Role::Marshal | Role::Organiser => true,
        Role::Crew | Role::Lead => team(entered_as),
        Role::Official => entered_as == Role::Official,
        Role::Program => entered_as == Role::Program,
        Role::Wall => false,
    }
}

/// Who may do something, for the sentence that refuses it.
pub fn who_may_write(body: &Body) -> String {
    let who: Vec<&str> = Role::ALL
        .into_iter()
        .filter(|role| may_write(*role, body) != N)
        .map(Role::as_str)
        .collect();
    let kind = body.kind().name();
    if who.is_empty() {
        format!("'{kind}' is written by linkout alone.")
    } else {
        format!("'{kind}' like this is for: {}.", who.join(", "))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn body(kind: Kind, value: &serde_json::Value) -> Body {
        Body::read(kind, value, "").unwrap()
    }

    #[test]
    fn danger_can_be_told_by_everyone_but_a_screen() {
        let smoke = body(Kind::Danger, &json!({"what": "fire"}));
        for role in Role::ALL {
            assert_eq!(may_write(role, &smoke) == E, role != Role::Wall, "{role:?}");
        }
    }

    #[test]
    fn only_who_answers_for_it_ends_an_alarm() {
        let over = body(Kind::Danger, &json!({"what": "over"}));
        let go_on = body(Kind::EveryoneStop, &json!({"stop": false}));
        for role in Role::ALL {
            let answers = matches!(role, Role::Marshal | Role::Organiser);
            assert_eq!(may_write(role, &over) == E, answers, "{role:?}");
            assert_eq!(may_write(role, &go_on) == E, answers, "{role:?}");
        }
    }

    #[test]
    fn a_hazard_is_taken_on_by_the_lead_alone() {
        let accepted = body(Kind::Hazard, &json!({"rule": "H06", "said": "accepted"}));
        for role in Role::ALL {
            let expected = if role == Role::Lead { T } else { N };
            assert_eq!(may_write(role, &accepted), expected, "{role:?}");
        }
    }

    #[test]
    fn a_screen_writes_nothing_and_a_crew_nothing_of_others_but_alarms() {
        for kind in Kind::ALL {
            assert_eq!(may_write_kind(Role::Wall, *kind), N, "{kind:?}");
            if may_write_kind(Role::Crew, *kind) == E {
                assert!(
                    matches!(
                        kind,
                        Kind::Danger | Kind::EveryoneStop | Kind::Air | Kind::Void
                    ),
                    "{kind:?}"
                );
            }
        }
    }
}
