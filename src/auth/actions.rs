//! Who may do what else: see things, let people in, send them out.

use super::rights::Reach;
use crate::pit::logbook::{Kind, Role};

use Reach::{Everything as E, Nothing as N, OwnTeam as T};

/// Something other than writing a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Action {
    /// See where every robot is, its energy verdict, calls, and what has to stop now.
    SeeTheHall,
    /// See a team's own: packs, bottles, plans, tasks, hazards, link plans, its part of the logbook.
    SeeTeam,
    /// See who holds which link, and every hazard and link plan.
    SeeSafety,
    /// See the work of the stations: packs on charge, bottles, what a robot was proved to be.
    SeeStations,
    /// See the board with odds, holds and reasons of all.
    SeeBoard,
    /// Enter bouts and change their order.
    OrderBouts,
    /// See people's names.
    SeeNames,
    /// Make a code that lets people in.
    MakeJoinCode,
    /// End somebody's sessions.
    EndSessions,
    /// Name a person anew, or erase the name.
    NamePeople,
}

impl Action {
    /// Every action.
    pub const ALL: [Self; 10] = [
        Self::SeeTheHall,
        Self::SeeTeam,
        Self::SeeSafety,
        Self::SeeStations,
        Self::SeeBoard,
        Self::OrderBouts,
        Self::SeeNames,
        Self::MakeJoinCode,
        Self::EndSessions,
        Self::NamePeople,
    ];
}

/// How far `role` may do `action`.
pub fn may(role: Role, action: Action) -> Reach {
    #[rustfmt::skip]
    let [crew, lead, official, marshal, organiser, wall, program] = match action {
        //                        crew lead offi mars orga wall prog
        Action::SeeTheHall =>    [E, E, E, E, E, E, E],
        Action::SeeTeam =>       [T, T, N, N, E, N, T],
        Action::SeeSafety =>     [T, T, E, E, E, N, T],
        Action::SeeStations =>   [T, T, E, E, E, N, E],
        Action::SeeBoard =>      [N, N, N, E, E, N, E],
        Action::OrderBouts =>    [N, N, N, N, E, N, E],
        Action::SeeNames =>      [T, T, E, E, E, N, N],
        Action::MakeJoinCode =>  [N, T, N, N, E, N, N],
        Action::EndSessions =>   [N, T, N, N, E, N, N],
        Action::NamePeople =>    [N, T, N, N, E, N, N],
    };
    match role {
        Role::Crew => crew,
        Role::Lead => lead,
        Role::Official => official,
        Role::Marshal => marshal,
        Role::Organiser => organiser,
        Role::Wall => wall,
        Role::Program => program,
    }
}

/// What somebody must be allowed to see to read lines of `kind`.
pub fn to_read(kind: Kind) -> Action {
    match kind {
        Kind::RegisterEvent
        | Kind::RegisterTeam
        | Kind::RegisterRobot
        | Kind::RegisterBout
        | Kind::RegisterCircuit
        | Kind::RegisterSupply
        | Kind::Place
        | Kind::Called
        | Kind::BoutStarted
        | Kind::BoutEnded
        | Kind::Station
        | Kind::CallsMoved
        | Kind::Announced
        | Kind::AllowedHere
        | Kind::Danger
        | Kind::EveryoneStop => Action::SeeTheHall,
        Kind::Link
        | Kind::Gas
        | Kind::WeaponBar
        | Kind::Transmitter
        | Kind::PowerLight
        | Kind::Stand
        | Kind::Stored
        | Kind::Trouble
        | Kind::Inside
        | Kind::Clearance
        | Kind::Air
        | Kind::Looked
        | Kind::LinkPlan
        | Kind::Hazard
        | Kind::Duty
        | Kind::Void => Action::SeeSafety,
        Kind::RegisterPack
        | Kind::RegisterSet
        | Kind::RegisterChannel
        | Kind::RegisterCharger
        | Kind::RegisterBottle
        | Kind::Pack
        | Kind::Charge
        | Kind::Bottle
        | Kind::SupplyWeighed
        | Kind::Check
        | Kind::Photo
        | Kind::Proof => Action::SeeStations,
        Kind::Answered | Kind::Postponement | Kind::AnnouncementSeen => Action::SeeBoard,
        Kind::RegisterPerson => Action::SeeNames,
        Kind::RegisterLibrary
        | Kind::RegisterPartType
        | Kind::Part
        | Kind::Stock
        | Kind::Loan
        | Kind::Count
        | Kind::Damage
        | Kind::Task
        | Kind::Changed
        | Kind::Planned => Action::SeeTeam,
    }
}
