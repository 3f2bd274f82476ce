//! Enters a cast into the register: ids, drafts, and the kit a day works with.

use super::cast::{RobotCast, TeamCast};
use super::day::{Kit, RobotKit, TeamKit};
use super::programme::{BoutCast, Corner};
use crate::calc::battery::SupplyKind;
use crate::calc::gas::{GasFeed, GasWall};
use crate::calc::units::{
    Charge, Count, Currency, Current, FailureRate, GaugePressure, Length, Mass, Minutes, Name,
    Note, Percent, Power, Price, Resistance, UnitBouts, Voltage, Volume, Word,
};
use crate::pit::ids::{
    BottleId, BoutId, ChannelId, ChargerId, CircuitId, LineId, PackId, PartTypeId, PersonId,
    RobotId, SetId, Subject, SupplyId, TeamId,
};
use crate::pit::logbook::register::{self, Chemistry, GasOf, Machine, Slot};
use crate::pit::logbook::{Body, Draft};
use crate::pit::settings::Settings;
use chrono::{DateTime, Datelike, NaiveDate, TimeDelta, Utc};
use uuid::Uuid;

/// A cast as the organiser enters it before the day.
pub struct Entered {
    /// What there is.
    pub kit: Kit,
    /// What people are called: kept apart from the lines.
    pub names: Vec<(PersonId, &'static str)>,
    /// The lines, in an order in which nothing speaks of what comes later.
    pub drafts: Vec<Draft>,
}

/// Who and what there is.
pub struct Cast<'a> {
    /// The event.
    pub event: register::Event,
    /// The organiser.
    pub organiser: &'static str,
    /// Marshals.
    pub marshals: &'a [&'static str],
    /// Officials.
    pub officials: &'a [&'static str],
    /// Teams.
    pub teams: &'a [TeamCast],
    /// Robots.
    pub robots: &'a [RobotCast],
    /// Bouts in running order.
    pub bouts: &'a [BoutCast],
}

/// The invented event of the demo, on the days around `now`.
pub fn harbour(now: DateTime<Utc>) -> register::Event {
    use super::cast::{EMERGENCY, EVENT, HALL};
    register::Event {
        name: name(EVENT),
        hall: Some(name(HALL)),
        time_zone: "Europe/London".to_owned(),
        first_day: (now - TimeDelta::hours(12)).date_naive(),
        last_day: (now + TimeDelta::hours(12)).date_naive(),
        currency: Currency::new("GBP").ok(),
        settings: Settings::default(),
        emergency: EMERGENCY
            .iter()
            .filter_map(|text| Note::new(text).ok())
            .collect(),
    }
}

/// Enters everything, one line a thing, at `at`.
pub fn enter(cast: &Cast<'_>, at: DateTime<Utc>, salt: u32) -> Entered {
    let mut entry = Entry {
        at,
        salt,
        made: 0,
        bay: None,
        drafts: Vec::new(),
        names: Vec::new(),
    };
    entry.line(Subject::Event, Body::RegisterEvent(cast.event.clone()));
    entry.hall();
    let organiser = entry.person(cast.organiser, None, &[]);
    let of_event = |entry: &mut Entry, names: &[&'static str]| -> Vec<PersonId> {
        names
            .iter()
            .map(|name| entry.person(name, None, &[]))
            .collect()
    };
    let marshals = of_event(&mut entry, cast.marshals);
    let officials = of_event(&mut entry, cast.officials);
    let teams: Vec<TeamKit> = cast.teams.iter().map(|team| entry.team(team)).collect();
    let robots: Vec<RobotKit> = cast
        .robots
        .iter()
        .map(|robot| entry.robot(robot, &teams))
        .collect();
    let ids: Vec<BoutId> = cast.bouts.iter().map(|_| BoutId(entry.id())).collect();
    let mut bouts = Vec::with_capacity(ids.len());
    for (n, bout) in cast.bouts.iter().enumerate() {
        let body = register::Bout {
            number: count(i64::try_from(n).unwrap_or(0) + 1),
            slots: bout.corners.map(|corner| match corner {
                Corner::Robot(n) => Slot::Robot(robots[n].id),
                Corner::Winner(n) => Slot::Winner(ids[n]),
                Corner::Loser(n) => Slot::Loser(ids[n]),
            }),
            call_at: bout.call_at,
            fixed: false,
            moved_from: None,
            retired: false,
        };
        entry.line(Subject::Bout(ids[n]), Body::RegisterBout(body.clone()));
        bouts.push((ids[n], body));
    }
    Entered {
        kit: Kit {
            salt,
            organiser,
            marshals,
            officials,
            teams,
            robots,
            bouts,
        },
        names: entry.names,
        drafts: entry.drafts,
    }
}

struct Entry {
    at: DateTime<Utc>,
    salt: u32,
    made: u32,
    bay: Option<CircuitId>,
    drafts: Vec<Draft>,
    names: Vec<(PersonId, &'static str)>,
}

impl Entry {
    fn id(&mut self) -> Uuid {
        self.made += 1;
        let [s0, s1, s2, s3] = self.salt.to_be_bytes();
        let [m0, m1, m2, m3] = self.made.to_be_bytes();
        let bits = [0xff, s0, s1, s2, s3, m0, m1, m2, m3, 0];
        let since_epoch_ms = u64::try_from(self.at.timestamp_millis()).unwrap_or(0);
        uuid::Builder::from_unix_timestamp_millis(since_epoch_ms, &bits).into_uuid()
    }

    fn line(&mut self, subject: Subject, body: Body) {
        let id = LineId(self.id());
        self.drafts.push(Draft {
            id,
            at: self.at,
            seen_by: None,
            subject,
            how: None,
            corrects: None,
            if_revision: None,
            body,
        });
    }

    fn person(&mut self, who: &'static str, team: Option<TeamId>, skills: &[&str]) -> PersonId {
        let id = PersonId(self.id());
        let body = register::Person {
            team,
            skills: skills
                .iter()
                .filter_map(|skill| Word::new(skill).ok())
                .collect(),
            away: Vec::new(),
            retired: false,
        };
        self.line(Subject::Person(id), Body::RegisterPerson(body));
        self.names.push((id, who));
        id
    }

    fn team(&mut self, team: &TeamCast) -> TeamKit {
        let id = TeamId(self.id());
        let body = register::Team {
            name: name(team.name),
            retired: false,
        };
        self.line(Subject::Team(id), Body::RegisterTeam(body));
        let people = team
            .people
            .iter()
            .map(|(who, skills)| self.person(who, Some(id), skills))
            .collect();
        let charger = self.charger(id);
        let channels = (1..=4)
            .map(|n| {
                let channel = ChannelId(self.id());
                let body = register::Channel {
                    team: id,
                    label: name(&format!("Channel {n}")),
                    max_current_ma: Current::new(10_000).expect("within bounds"),
                    max_power_w: Power::new(300).expect("within bounds"),
                    charger: Some(charger),
                    most_cells: Count::new(8),
                    retired: false,
                };
                self.line(Subject::Channel(channel), Body::RegisterChannel(body));
                channel
            })
            .collect();
        TeamKit {
            id,
            people,
            channels,
        }
    }

    /// A team's lead from the hall's circuit, and the charger on it.
    fn charger(&mut self, team: TeamId) -> ChargerId {
        let lead = CircuitId(self.id());
        let body = register::Circuit {
            team: Some(team),
            label: name("Lead 1"),
            rating_ma: Current::new(13_000),
            coiled_ma: Current::new(5_000),
            ..self.circuit(SupplyKind::Lead)
        };
        self.line(Subject::Circuit(lead), Body::RegisterCircuit(body));
        let charger = ChargerId(self.id());
        let body = register::Charger {
            team,
            label: name("Charger 1"),
            circuit: Some(lead),
            input_limit_w: Power::new(1_400),
            efficiency_percent: None,
            power_factor_percent: None,
            power_factor_corrected: true,
            retired: false,
        };
        self.line(Subject::Charger(charger), Body::RegisterCharger(body));
        charger
    }

    /// Something fed by the hall's circuit, without its own data yet.
    fn circuit(&self, kind: SupplyKind) -> register::Circuit {
        register::Circuit {
            team: None,
            label: name("Bay A"),
            kind,
            mains_mv: Voltage::new(230_000).expect("within bounds"),
            rating_ma: None,
            coiled_ma: None,
            coiled: false,
            rating_va: None,
            continuous_percent: None,
            fed_by: self.bay,
            other_load_w: None,
            retired: false,
        }
    }

    /// What the hall has: the circuit of the charging bay, and the cylinder at the gas bay.
    fn hall(&mut self) {
        let bay = CircuitId(self.id());
        let body = register::Circuit {
            rating_ma: Current::new(32_000),
            other_load_w: Power::new(400),
            ..self.circuit(SupplyKind::Circuit)
        };
        self.line(Subject::Circuit(bay), Body::RegisterCircuit(body));
        self.bay = Some(bay);
        let supply = SupplyId(self.id());
        let body = register::Supply {
            team: None,
            label: name("Cylinder 1"),
            gas: GasOf::Co2,
            volume_ml: Volume::new(50_000).expect("within bounds"),
            tare_g: Mass::new(55_000),
            contents_g: Mass::new(34_000),
            pressure_mbar_gauge: None,
            dip_tube: true,
            heel_g: Mass::new(500),
            tested_on: NaiveDate::from_ymd_opt(self.at.year() - 2, 6, 2),
            place: Some(name("Gas bay")),
            retired: false,
        };
        self.line(Subject::Supply(supply), Body::RegisterSupply(body));
    }

    /// Types of part that a machine wears out or breaks.
    fn parts(&mut self, team: TeamId, robot: RobotId, of: &str, machine: Machine) {
        for worn in super::cast::PARTS {
            if !worn.on.contains(&machine) {
                continue;
            }
            let small = machine == Machine::SmallMachine;
            let mass = if small {
                worn.mass_g / 30 + 1
            } else {
                worn.mass_g
            };
            let body = register::PartType {
                team,
                label: name(&format!("{of} {}", worn.label)),
                mass_g: Mass::new(mass),
                volume_ml: Volume::new(mass.max(10)),
                price_minor: Price::new(mass * 5),
                repair: Word::new(worn.repair).ok(),
                place: Some(name(worn.place)),
                fits: vec![register::Fit {
                    robot,
                    units: count(worn.fitted),
                }],
                spares: Count::new(worn.spares),
                repairable_percent: Percent::new(worn.repairable_percent),
                repair_min: Minutes::new(worn.repair_min),
                prior: FailureRate::new(worn.mean)
                    .zip(FailureRate::new(worn.worst))
                    .map(|(mean_per_1000_unit_bouts, worst_per_1000_unit_bouts)| {
                        register::FailurePrior {
                            mean_per_1000_unit_bouts,
                            worst_per_1000_unit_bouts,
                        }
                    }),
                elsewhere: before(worn.fitted, worn.mean),
                retired: false,
            };
            let part = PartTypeId(self.id());
            self.line(Subject::Part(part), Body::RegisterPartType(body));
        }
    }

    fn robot(&mut self, robot: &RobotCast, teams: &[TeamKit]) -> RobotKit {
        let id = RobotId(self.id());
        let team = &teams[robot.team];
        let small = robot.machine == Machine::SmallMachine;
        let body = register::Robot {
            team: team.id,
            name: name(robot.name),
            machine: robot.machine,
            bench: Count::new(robot.bench),
            configuration: Some(name(robot.configuration)),
            configurations: Vec::new(),
            driver: team.people.get(robot.driver).copied(),
            links: count(1),
            transmitters: count(1),
            isolator: register::BrokenBy::Link,
            stores_energy: false,
            limit_g: Mass::new(if small { 1_500 } else { 110_000 }),
            electrics: Some(electrics(small)),
            gas_system: robot.machine.has_gas().then(gas_system),
            retired: false,
        };
        self.line(Subject::Robot(id), Body::RegisterRobot(body));
        self.parts(team.id, id, robot.name, robot.machine);
        let sets = ["A", "B"]
            .iter()
            .map(|set| self.set(robot, team.id, id, set, small))
            .collect();
        let bottles = if robot.machine.has_gas() {
            (1..=2).map(|n| self.bottle(robot, team.id, n)).collect()
        } else {
            Vec::new()
        };
        RobotKit {
            id,
            machine: robot.machine,
            team: robot.team,
            sets,
            bottles,
        }
    }

    fn set(
        &mut self,
        robot: &RobotCast,
        team: TeamId,
        id: RobotId,
        label: &str,
        small: bool,
    ) -> (SetId, Vec<PackId>) {
        let packs: Vec<PackId> = (1..=if small { 1 } else { 2 })
            .map(|n| {
                let pack = PackId(self.id());
                let body = register::Pack {
                    team,
                    label: name(&format!("{} {label}{n}", robot.name)),
                    chemistry: Chemistry::Lipo,
                    cells: count(if small { 4 } else { 6 }),
                    capacity_mah: Charge::new(if small { 850 } else { 5_000 })
                        .expect("within bounds"),
                    parallel_cells: count(1),
                    max_charge_ma: Current::new(if small { 1_700 } else { 10_000 }),
                    cell_resistance_uohm: Resistance::new(if small { 12_000 } else { 2_900 }),
                    cycles_before: None,
                    code: None,
                    retired: false,
                };
                self.line(Subject::Pack(pack), Body::RegisterPack(body));
                pack
            })
            .collect();
        let set = SetId(self.id());
        let body = register::Set {
            team,
            label: name(&format!("{} set {label}", robot.name)),
            packs: packs.clone(),
            strings: Count::new(1),
            robot: Some(id),
            retired: false,
        };
        self.line(Subject::Set(set), Body::RegisterSet(body));
        (set, packs)
    }

    fn bottle(&mut self, robot: &RobotCast, team: TeamId, n: i32) -> BottleId {
        let bottle = BottleId(self.id());
        let body = register::Bottle {
            team,
            label: name(&format!("{} bottle {n}", robot.name)),
            gas: GasOf::Co2,
            volume_ml: Volume::new(4_000).expect("within bounds"),
            tare_g: Mass::new(5_100).expect("within bounds"),
            permitted_fill_g: Mass::new(2_660),
            tested_on: NaiveDate::from_ymd_opt(self.at.year() - 1, 3, 14),
            test_pressure_mbar_gauge: GaugePressure::new(250_000),
            filling_ratio_g_per_l: None,
            test_due: NaiveDate::from_ymd_opt(self.at.year() + 9, 3, 14),
            service_pressure_mbar_gauge: None,
            disc_pressure_mbar_gauge: GaugePressure::new(186_000),
            dip_tube: false,
            wall: Some(GasWall::Aluminium),
            fittings_g: None,
            retired: false,
        };
        self.line(Subject::Bottle(bottle), Body::RegisterBottle(body));
        bottle
    }
}

/// What a part showed over a dozen bouts of another year.
fn before(fitted: i64, mean_per_1000: i64) -> Option<register::SeenElsewhere> {
    let unit_bouts = fitted * 12;
    Some(register::SeenElsewhere {
        failures: Count::new((unit_bouts * mean_per_1000 + 500) / 1000)?,
        unit_bouts: UnitBouts::new(unit_bouts)?,
        weight_percent: None,
    })
}

fn electrics(small: bool) -> register::Electrics {
    let (limit_mv, charge, peak) = if small {
        (21_000, 500, 40_000)
    } else {
        (60_000, 2_400, 180_000)
    };
    register::Electrics {
        parts: vec![register::FedPart {
            name: name("drive controller"),
            limit_mv: Voltage::new(limit_mv),
            rated_mv: None,
            least_mv: None,
        }],
        bout_charge_mah: Charge::new(charge),
        peak_current_ma: Current::new(peak),
    }
}

fn gas_system() -> register::GasSystem {
    let length = |um| Length::new(um).expect("within bounds");
    register::GasSystem {
        gas: GasOf::Co2,
        feed: GasFeed::Regulated,
        extend_pressure_mbar_gauge: GaugePressure::new(10_000),
        retract_pressure_mbar_gauge: GaugePressure::new(0),
        need_pressure_mbar_gauge: GaugePressure::new(15_000),
        bore_um: length(100_000),
        stroke_um: length(250_000),
        rod_um: length(25_000),
        dead_extend_ml: Volume::new(200),
        dead_retract_ml: None,
        buffer_ml: Volume::new(2_000),
        shots_a_bout: Count::new(12),
    }
}

fn name(text: &str) -> Name {
    Name::new(text).expect("a name of the cast within bounds")
}

fn count(n: i64) -> Count {
    Count::new(n).expect("a small number")
}
