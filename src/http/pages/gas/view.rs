//! Bottles and supplies in the words of the page.

use super::regulator::says;
use super::{BottleCard, BottlePage, Curve, GasPage, Learned, Limit, RobotCard, SupplyCard};
use crate::auth::{Action as Right, Reach, rights::may_write_kind};
use crate::http::pages::reader::Reader;
use crate::http::pages::words;
use crate::pit::gas::{
    self, BottleNow, BottlePressure, BottleShots, EnoughGas, LearnedShot, SupplyNow,
};
use crate::pit::ids::{BottleId, TeamId};
use crate::pit::logbook::work::{Outcome, ProofOf};
use crate::pit::logbook::{Kind, Role, register::Bottle};

/// The gas of a team.
pub fn of_team(reader: &Reader, team: TeamId) -> Option<GasPage> {
    let name = reader.pit.teams.get(&team)?.body.name.to_string();
    let today = reader.today();
    let bottles = gas::bottles_of(&reader.pit, team, today);
    Some(GasPage {
        sub: name,
        back: reader.sees_team(team).then(|| match reader.signed.team {
            Some(_) => format!("{}/team", reader.base),
            None => format!("{}/team?team={team}", reader.base),
        }),
        bottles: bottles
            .iter()
            .filter_map(|now| card(reader, now, true))
            .collect(),
        robots: robots(reader, team),
        supplies: gas::supplies_for(&reader.pit, team, today)
            .iter()
            .filter_map(|now| supply(reader, now))
            .collect(),
        teams: Vec::new(),
    })
}

/// The teams that have bottles, for those who see several.
pub fn teams(reader: &Reader) -> GasPage {
    let mut teams: Vec<(String, String)> = reader
        .pit
        .teams
        .iter()
        .filter(|(id, _)| {
            let bottles = reader.pit.bottles.values();
            let mut in_use = bottles.filter(|bottle| !bottle.body.retired);
            in_use.any(|bottle| bottle.body.team == **id)
        })
        .map(|(id, team)| {
            let href = format!("{}/gas?team={id}", reader.base);
            (team.body.name.to_string(), href)
        })
        .collect();
    teams.sort();
    GasPage {
        sub: "of which team?".to_owned(),
        back: Some(reader.home()),
        bottles: Vec::new(),
        robots: Vec::new(),
        supplies: Vec::new(),
        teams,
    }
}

/// The team's robots that run on gas, for those who see how they stand.
fn robots(reader: &Reader, team: TeamId) -> Vec<RobotCard> {
    if reader.signed.sees(Right::SeeSafety, Some(team)).is_err() {
        return Vec::new();
    }
    let mut robots: Vec<RobotCard> = reader
        .pit
        .robots_of(team)
        .filter(|(_, file)| {
            let body = &file.register.body;
            body.machine.has_gas() && !body.retired
        })
        .map(|(id, file)| {
            let last = gas::regulator_readings(&reader.pit, id).into_iter().next();
            let leak = file.state.proofs.get(&ProofOf::Leak);
            RobotCard {
                name: file.register.body.name.to_string(),
                regulator: last.map_or_else(
                    || "regulator not read yet".to_owned(),
                    |reading| {
                        format!(
                            "gauge {:.1} bar at {}, {}",
                            reading.read_bar_gauge,
                            reader.clock.hm(reading.at),
                            says(&reading)
                        )
                    },
                ),
                leak: leak.map_or_else(
                    || "no leak test yet".to_owned(),
                    |proof| {
                        let result = match proof.value.result {
                            Outcome::Fail => "failed",
                            Outcome::Pass | Outcome::Within => "passed",
                        };
                        format!("leak test {result} at {}", reader.clock.hm(proof.at))
                    },
                ),
                regulator_href: format!("{}/regulator", reader.bench(id)),
                leak_href: format!("{}/leak", reader.bench(id)),
            }
        })
        .collect();
    robots.sort_by(|a, b| a.name.cmp(&b.name));
    robots
}

/// One bottle.
pub fn of_bottle(reader: &Reader, id: BottleId) -> Option<BottlePage> {
    let now = gas::bottle(&reader.pit, id, reader.today())?;
    let body = &reader.pit.bottles.get(&id)?.body;
    let limits = &now.limits;
    let pressures_for = match (limits.pressures_for_g, now.gas_g) {
        (Some(grams), Some(gas)) if gas > 0 => format!("with {grams} g in it"),
        (Some(grams), _) => format!("if it held the permitted {grams} g"),
        (None, _) => String::new(),
    };
    let log = now
        .history
        .iter()
        .rev()
        .filter_map(|step| reader.pit.entry(step.line))
        .map(|entry| words::log_line(reader, entry))
        .collect();
    Some(BottlePage {
        card: card(reader, &now, false)?,
        back: match reader.signed.team {
            Some(_) => format!("{}/gas", reader.base),
            None => format!("{}/gas?team={}", reader.base, body.team),
        },
        pressures_for,
        warm: gas::ALWAYS_DEGC
            .into_iter()
            .filter_map(|degc| limits.pressure_at(degc))
            .map(|row| {
                (
                    format!("{:.0} °C", row.temperature_degc),
                    format!("{:.0} bar", row.pressure_bar_gauge),
                    then(row),
                )
            })
            .collect(),
        curve: curve(body, &now),
        log,
    })
}

fn then(row: &BottlePressure) -> String {
    match (row.above_test_pressure, row.disc_may_open) {
        (Some(true), _) => "above the test pressure",
        (_, Some(true)) => "the disc may open",
        (Some(false), Some(false)) => "below test pressure and disc",
        (Some(false), None) => "below the test pressure; disc not known",
        (None, Some(false)) => "below the disc; test pressure not known",
        (None, None) => "test pressure and disc not known",
    }
    .to_owned()
}

fn curve(body: &Bottle, now: &BottleNow) -> Option<Curve> {
    let points: Vec<(f64, f64)> = now
        .limits
        .pressures
        .iter()
        .map(|row| (row.temperature_degc, row.pressure_bar_gauge))
        .collect();
    let limit = |name: &str, pressure: crate::calc::units::GaugePressure| Limit {
        name: name.to_owned(),
        bar: f64::from(pressure.get()) / 1000.0,
    };
    let limits = [
        body.test_pressure_mbar_gauge
            .map(|pressure| limit("test pressure", pressure)),
        body.disc_pressure_mbar_gauge
            .map(|pressure| limit("disc may open", pressure)),
    ];
    (points.len() > 1).then(|| Curve {
        words: format!(
            "Pressure of bottle {} against its temperature; the table below has the values.",
            body.label
        ),
        points,
        limits: limits.into_iter().flatten().collect(),
        hall: now
            .limits
            .in_the_hall()
            .map(|bar| (now.limits.hall_degc, bar)),
    })
}

fn card(reader: &Reader, now: &BottleNow, linked: bool) -> Option<BottleCard> {
    let body = &reader.pit.bottles.get(&now.bottle)?.body;
    let crew = matches!(
        reader.signed.role,
        Role::Crew | Role::Lead | Role::Official | Role::Marshal
    );
    let place = now.place.map_or_else(
        || "nobody said where it is".to_owned(),
        |place| {
            let who = reader.name(place.seen_by);
            let at = reader.clock.hm(place.at);
            format!("{}, {who}, {at}", words::thing_place(place.place))
        },
    );
    let limits = &now.limits;
    Some(BottleCard {
        label: body.label.to_string(),
        place,
        shots: now.shots.map(|shots| {
            let range = range(shots);
            let bout = shots
                .shots_a_bout
                .map_or_else(String::new, |bout| format!("; a bout takes up to {bout}"));
            (
                range,
                format!(
                    "{:.0} to {:.0} g each{bout}",
                    shots.shot_g, shots.cold_shot_g
                ),
            )
        }),
        enough: now
            .shots
            .and_then(|shots| shots.enough)
            .map(|enough| enough_words(enough).to_owned()),
        unknown: now.shots_unknown.clone(),
        facts: facts(reader, now),
        learned: learned(now),
        not_to_fill: limits.reasons.clone(),
        cautions: limits.cautions.clone(),
        href: linked.then(|| format!("{}/gas/{}", reader.base, now.bottle)),
        photos: (!linked).then(|| format!("{}/photos/bottle:{}", reader.base, now.bottle)),
        keypad: crew.then(|| {
            let robot = now
                .robot
                .map_or_else(String::new, |robot| format!("?robot={robot}"));
            format!("{}/bottles/{}/mass{robot}", reader.base, now.bottle)
        }),
    })
}

/// "14 to 22 shots".
pub fn range(shots: BottleShots) -> String {
    if shots.fewest == shots.most {
        format!("{} shots", shots.most)
    } else {
        format!("{} to {} shots", shots.fewest, shots.most)
    }
}

/// Whether it is enough, in words.
pub fn enough_words(enough: EnoughGas) -> &'static str {
    match enough {
        EnoughGas::Yes => "Enough for the bout",
        EnoughGas::Perhaps => "Perhaps not enough for the bout",
        EnoughGas::No => "Not enough for the bout",
    }
}

/// What weighing taught about a shot, and what that rests on.
fn learned(now: &BottleNow) -> Option<Learned> {
    now.shots?;
    let Some(learned) = &now.learned else {
        return Some(Learned {
            title: "A shot is worked out, not learned".to_owned(),
            basis: "Weigh the bottle after a bout, before it is filled, and enter the shots: the range narrows to what this machine takes.".to_owned(),
            cautions: Vec::new(),
        });
    };
    let title = if learned.used {
        format!("A shot takes {:.2} times a warm stroke", learned.factor)
    } else {
        "What was weighed is not used".to_owned()
    };
    Some(Learned {
        title,
        basis: learned_basis(learned),
        cautions: learned.cautions.clone(),
    })
}

fn learned_basis(learned: &LearnedShot) -> String {
    let pairs = match learned.weighings {
        1 => "1 pair of weighings".to_owned(),
        n => format!("{n} pairs of weighings"),
    };
    let shots = match learned.shots {
        1 => "1 shot".to_owned(),
        n => format!("{n} shots"),
    };
    format!(
        "{pairs}, {shots}: {:.0} g drawn, {:.0} g by warm strokes alone; {:.2} to {:.2} with what the scale may be off",
        learned.drawn_g, learned.modelled_g, learned.factor_low, learned.factor_high
    )
}

fn facts(reader: &Reader, now: &BottleNow) -> Vec<(&'static str, String, String)> {
    let limits = &now.limits;
    let weighed = now.weighed.map_or_else(
        || "never weighed here".to_owned(),
        |weighed| {
            format!(
                "{} g gross, {}, {}",
                weighed.gross_g,
                reader.name(weighed.seen_by),
                reader.clock.hm(weighed.at)
            )
        },
    );
    let mut facts = vec![match (now.gas_g, now.used_since) {
        (Some(gas), Some(since)) => (
            "Gas in it",
            format!("at most {gas} g"),
            format!("{weighed}; in a bout since, {}", reader.clock.hm(since)),
        ),
        (Some(gas), None) => ("Gas in it", format!("{gas} g"), weighed),
        (None, _) => ("Gas in it", "unknown".to_owned(), weighed),
    }];
    if let (Some(shots), true) = (now.shots, now.used_since.is_none()) {
        facts.push((
            "Pressure now",
            format!("{:.0} bar", shots.pressure_now_bar_gauge),
            format!("if as warm as the hall, {:.0} °C", limits.hall_degc),
        ));
        let after = match (shots.after_bout_bar_gauge, shots.shots_a_bout) {
            (Some(bar), _) => Some((format!("{bar:.0} bar"), "at worst, fired at once")),
            (None, Some(_)) => Some(("spent before its end".to_owned(), "at worst")),
            (None, None) => None,
        };
        let need = format!("the ram needs {:.0} bar", shots.need_bar_gauge);
        let cold = match (shots.after_bout_degc, shots.warm_again_min) {
            (Some(degc), Some(minutes)) => Some((
                format!("{degc:.0} °C"),
                format!("at worst; nine tenths warm again after {minutes:.0} min in still air"),
            )),
            _ => None,
        };
        facts.extend(
            after.map(|(after, basis)| ("After the bout", after, format!("{basis}; {need}"))),
        );
        facts.extend(cold.map(|(degc, basis)| ("Then as cold as", degc, basis)));
        facts.extend(shots.first_below_need.map(|shot| {
            (
                "First weak shot",
                if shot == 0 {
                    "the first".to_owned()
                } else {
                    format!("number {}", shot + 1)
                },
                "at worst".to_owned(),
            )
        }));
    }
    facts.push(match (limits.permitted_g, limits.stop_at_gross_g) {
        (Some(gas), Some(gross)) => (
            "Fill at most",
            format!("{gross} g gross"),
            format!("{gas} g of gas"),
        ),
        _ => ("Fill at most", "unknown".to_owned(), String::new()),
    });
    if let Some(degc) = limits.liquid_full_at_degc {
        facts.push((
            "Liquid to the brim",
            format!("from {degc:.0} °C"),
            "above that the pressure climbs 3 to 4 bar a degree".to_owned(),
        ));
    }
    facts.push((
        "Test due",
        now.test_due.map_or_else(
            || "unknown".to_owned(),
            |due| due.format("%-d %b %Y").to_string(),
        ),
        String::new(),
    ));
    facts
}

fn supply(reader: &Reader, now: &SupplyNow) -> Option<SupplyCard> {
    let body = &reader.pit.supplies.get(&now.supply)?.body;
    let place = body
        .place
        .as_ref()
        .map_or_else(String::new, |place| format!(", {place}"));
    let kilos = |grams: i32| format!("{:.1} kg", f64::from(grams) / 1000.0);
    let weighed = now.weighed.map_or_else(
        || "as registered".to_owned(),
        |weighed| {
            let who = reader.name(weighed.seen_by);
            format!("weighed by {who}, {}", reader.clock.hm(weighed.at))
        },
    );
    let since = match now.filled {
        0 => "nothing filled since".to_owned(),
        1 => format!("1 filling since took up to {}", kilos(now.drawn_g)),
        n => format!("{n} fillings since took up to {}", kilos(now.drawn_g)),
    };
    let detail = match (now.contents_g, now.residual_g, now.fill_g) {
        (Some(contents), Some(residual), Some(fill)) => format!(
            "{} in it, {weighed}; {since}; {} stays behind, {} a filling",
            kilos(contents),
            kilos(residual),
            kilos(fill)
        ),
        _ => now.unknown.join(" "),
    };
    Some(SupplyCard {
        label: format!("{}{place}", body.label),
        fills: now.fills.map_or_else(
            || "unknown".to_owned(),
            |fills| match fills {
                1 => "1 filling".to_owned(),
                fills => format!("{fills} fillings"),
            },
        ),
        detail,
        keypad: may_write(reader, body.team)
            .then(|| format!("{}/supplies/{}/mass", reader.base, now.supply)),
    })
}

/// Whether the reader may weigh a cylinder of `team`, or of the event.
fn may_write(reader: &Reader, team: Option<TeamId>) -> bool {
    match may_write_kind(reader.signed.role, Kind::SupplyWeighed) {
        Reach::Everything => true,
        Reach::OwnTeam => team.is_some() && team == reader.signed.team,
        Reach::Nothing => false,
    }
}
