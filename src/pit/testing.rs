//! Lines for tests: one robot, its crew, and the facts about it.

pub mod hall;

use crate::calc::units::{Count, Name, Note, Seconds};
use crate::pit::ids::{EventId, LineId, PersonId, RobotId, Subject, TeamId};
use crate::pit::link_plan::draft;
use crate::pit::logbook::link_plan::Plan;
use crate::pit::logbook::machine::{
    Bar, Gas, Holder, Link, LinkState, Place, PlaceOf, Power, Stand, System, Transmitter, Valve,
    WeaponBar,
};
use crate::pit::logbook::register::Machine;
use crate::pit::logbook::{Author, Body, How, Line, Role, register};
use crate::pit::settings::Settings;
use chrono::{DateTime, TimeDelta, Utc};
use uuid::Uuid;

pub const ROBOT: RobotId = RobotId(Uuid::from_u128(1));
pub const TEAM: TeamId = TeamId(Uuid::from_u128(2));
pub const ANA: PersonId = PersonId(Uuid::from_u128(11));
pub const BEN: PersonId = PersonId(Uuid::from_u128(12));
pub const CAL: PersonId = PersonId(Uuid::from_u128(13));

pub fn start() -> DateTime<Utc> {
    DateTime::from_timestamp(1_800_000_000, 0).unwrap()
}

pub fn line(n: u128, at_s: i64, who: PersonId, how: How, body: Body) -> Line {
    let at = start() + TimeDelta::seconds(at_s);
    Line {
        event: EventId(Uuid::nil()),
        seq: i64::try_from(n).unwrap(),
        id: LineId(Uuid::from_u128(1000 + n)),
        at,
        claimed_at: at,
        clock_doubtful: false,
        recorded_at: at,
        seen_by: Some(who),
        entered_by: Author {
            person: Some(who),
            role: Role::Crew,
        },
        subject: Subject::Robot(ROBOT),
        how: Some(how),
        corrects: None,
        body,
    }
}

pub fn robot(machine: Machine) -> Line {
    let body = Body::RegisterRobot(register::Robot {
        team: TEAM,
        name: Name::new("Pewter Finch").unwrap(),
        machine,
        bench: None,
        configuration: None,
        configurations: Vec::new(),
        driver: None,
        links: Count::new(1).unwrap(),
        transmitters: Count::new(1).unwrap(),
        isolator: register::BrokenBy::Link,
        stores_energy: false,
        limit_g: None,
        electrics: None,
        gas_system: None,
        retired: false,
    });
    Line {
        how: None,
        ..line(1, 0, ANA, How::Did, body)
    }
}

/// A link plan of a flipper that lacks nothing but to be read back.
pub fn whole_plan() -> Plan {
    let note = |text: &str| Some(Note::new(text).unwrap());
    Plan {
        place: note("5 o'clock under the hatch"),
        retention: note("strap"),
        links: Count::new(2),
        holder: Some(BEN),
        inserter: Some(BEN),
        remover: Some(CAL),
        verifier: Some(ANA),
        reach_upright_s: Seconds::new(11),
        ..draft(Machine::FlipperHeavyweight, &Settings::default())
    }
}

pub fn link(state: LinkState) -> Body {
    Body::Link(Link {
        state,
        links: None,
        holder: Some(Holder::Person(BEN)),
        light: None,
        place: None,
    })
}

pub fn bar(state: Bar) -> Body {
    Body::WeaponBar(WeaponBar {
        state,
        second: None,
        strapped: None,
    })
}

pub fn transmitter(state: Power) -> Body {
    Body::Transmitter(Transmitter {
        state,
        with: None,
        model: None,
        boxed: None,
        second: false,
    })
}

pub fn gas(valve: Option<Valve>, system: Option<System>) -> Body {
    Body::Gas(Gas {
        valve,
        system,
        read: None,
        regulated: None,
    })
}

pub fn stand(clear: bool) -> Body {
    Body::Stand(Stand { clear, place: None })
}

pub fn bench() -> Body {
    Body::Place(PlaceOf {
        place: Place::PitBench,
        strapped: None,
    })
}

/// A flipper on its bench with every source isolated by Ana at 0 s.
pub fn made_safe() -> Vec<Line> {
    vec![
        robot(register::Machine::FlipperHeavyweight),
        line(2, 0, ANA, How::Saw, bench()),
        line(3, 0, ANA, How::Did, link(LinkState::Out)),
        line(
            4,
            0,
            ANA,
            How::Did,
            gas(Some(Valve::Shut), Some(System::Zero)),
        ),
        line(5, 0, ANA, How::Did, bar(Bar::On)),
        line(6, 0, ANA, How::Did, transmitter(Power::Off)),
        line(7, 0, ANA, How::Saw, stand(true)),
    ]
}

pub fn place(place: Place) -> Body {
    Body::Place(PlaceOf {
        place,
        strapped: None,
    })
}
