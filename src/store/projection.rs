//! The tables of what exists: brought up to date by register lines in the transaction that records
//! them.
//!
//! They are the last line of defence (foreign keys, bounds, unique names) and the place for SQL
//! across events. Nothing is known only here: they can be made anew from the lines.

mod rows;

use diesel::prelude::*;
use diesel_async::{AsyncConnection, AsyncPgConnection, RunQueryDsl, SimpleAsyncConnection};
use uuid::Uuid;

use super::StoreError;
use super::logbook;
use super::schema::{
    bottle_stamps, bottles, bouts, channels, chargers, circuits, event_details, events, libraries,
    packs, part_fits, part_histories, part_types, people, robots, set_packs, sets, supplies, teams,
};
use crate::pit::ids::{EventId, Subject};
use crate::pit::logbook::register::Machine;
use crate::pit::logbook::{Body, Family, Kind, Line};
use rows::{
    BottleRow, BottleStampRow, BoutRow, ChannelRow, ChargerRow, CircuitRow, EventRow, LibraryRow,
    PackRow, PartFitRow, PartHistoryRow, PartTypeRow, PersonRow, RobotRow, SetPackRow, SetRow,
    SupplyRow, TeamRow,
};

/// What has a revision: the subject of a register line, or a team's library for a type of machine.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Thing {
    /// What the line is about.
    Subject(Subject),
    /// The team's changes to the library of a type of machine.
    Library(Uuid, Machine),
}

impl Thing {
    /// What a line about `subject` changes, `None` unless it is a register line.
    #[must_use]
    pub fn of(subject: Subject, body: &Body) -> Option<Self> {
        match (body.kind().family(), body, subject) {
            (Family::Register, Body::RegisterLibrary(library), Subject::Team(team)) => {
                Some(Self::Library(team.0, library.machine))
            }
            (Family::Register, _, _) => Some(Self::Subject(subject)),
            (Family::Fact | Family::Plan, _, _) => None,
        }
    }
}

/// The revision of a thing, `None` if it is not registered.
///
/// # Errors
/// [`StoreError::Unavailable`].
pub async fn revision_in_tx(
    tx: &mut AsyncPgConnection,
    event: EventId,
    thing: Thing,
) -> Result<Option<i64>, StoreError> {
    macro_rules! revision {
        ($table:ident, $id:expr) => {
            $table::table
                .find((event.0, $id.0))
                .select($table::revision)
                .first(tx)
                .await
        };
    }
    let found = match thing {
        Thing::Subject(Subject::Event) => {
            event_details::table
                .find(event.0)
                .select(event_details::revision)
                .first(tx)
                .await
        }
        Thing::Subject(Subject::Team(id)) => revision!(teams, id),
        Thing::Subject(Subject::Person(id)) => revision!(people, id),
        Thing::Subject(Subject::Robot(id)) => revision!(robots, id),
        Thing::Subject(Subject::Pack(id)) => revision!(packs, id),
        Thing::Subject(Subject::Set(id)) => revision!(sets, id),
        Thing::Subject(Subject::Channel(id)) => revision!(channels, id),
        Thing::Subject(Subject::Charger(id)) => revision!(chargers, id),
        Thing::Subject(Subject::Circuit(id)) => revision!(circuits, id),
        Thing::Subject(Subject::Bottle(id)) => revision!(bottles, id),
        Thing::Subject(Subject::Supply(id)) => revision!(supplies, id),
        Thing::Subject(Subject::Part(id)) => revision!(part_types, id),
        Thing::Subject(Subject::Bout(id)) => revision!(bouts, id),
        Thing::Library(team, machine) => {
            libraries::table
                .find((event.0, team, machine.as_str()))
                .select(libraries::revision)
                .first(tx)
                .await
        }
    };
    Ok(found.optional()?)
}

/// Brings the tables up to date with a line; only register lines change them.
///
/// # Errors
/// [`StoreError::Refused`] with the name of the constraint the line breaks.
pub async fn apply_in_tx(tx: &mut AsyncPgConnection, line: &Line) -> Result<(), StoreError> {
    let id = line.subject.id().unwrap_or(line.event.0);
    macro_rules! put {
        ($table:ident, $row:expr) => {{
            let row = $row;
            diesel::insert_into($table::table)
                .values(&row)
                .on_conflict(($table::event_id, $table::id))
                .do_update()
                .set(&row)
                .execute(tx)
                .await?;
        }};
    }
    // Rows that hang on the thing: those of before go, those of now come.
    macro_rules! replace {
        ($table:ident, $of:ident, $rows:expr) => {{
            diesel::delete(
                $table::table
                    .filter($table::event_id.eq(line.event.0))
                    .filter($table::$of.eq(id)),
            )
            .execute(tx)
            .await?;
            diesel::insert_into($table::table)
                .values($rows)
                .execute(tx)
                .await?;
        }};
    }
    match &line.body {
        Body::RegisterEvent(body) => {
            let row = EventRow::of(line, body);
            diesel::insert_into(event_details::table)
                .values(&row)
                .on_conflict(event_details::event_id)
                .do_update()
                .set(&row)
                .execute(tx)
                .await?;
        }
        Body::RegisterTeam(body) => put!(teams, TeamRow::of(line, id, body)),
        Body::RegisterPerson(body) => put!(people, PersonRow::of(line, id, body)),
        Body::RegisterRobot(body) => put!(robots, RobotRow::of(line, id, body)),
        Body::RegisterPack(body) => put!(packs, PackRow::of(line, id, body)),
        Body::RegisterSet(body) => {
            put!(sets, SetRow::of(line, id, body));
            replace!(set_packs, set_id, SetPackRow::all(line, id, body));
        }
        Body::RegisterChannel(body) => put!(channels, ChannelRow::of(line, id, body)),
        Body::RegisterCharger(body) => put!(chargers, ChargerRow::of(line, id, body)),
        Body::RegisterCircuit(body) => put!(circuits, CircuitRow::of(line, id, body)),
        Body::RegisterBottle(body) => {
            put!(bottles, BottleRow::of(line, id, body));
            replace!(bottle_stamps, bottle_id, BottleStampRow::of(line, id, body));
        }
        Body::RegisterSupply(body) => put!(supplies, SupplyRow::of(line, id, body)),
        Body::RegisterPartType(body) => {
            put!(part_types, PartTypeRow::of(line, id, body));
            replace!(part_fits, part_type_id, PartFitRow::all(line, id, body));
            replace!(
                part_histories,
                part_type_id,
                PartHistoryRow::all(line, id, body)
            );
        }
        Body::RegisterBout(body) => put!(bouts, BoutRow::of(line, id, body)),
        Body::RegisterLibrary(body) => {
            let row = LibraryRow::of(line, id, body);
            diesel::insert_into(libraries::table)
                .values(&row)
                .on_conflict((libraries::event_id, libraries::team_id, libraries::machine))
                .do_update()
                .set(&row)
                .execute(tx)
                .await?;
        }
        other => {
            if other.kind().family() == Family::Register {
                return Err(StoreError::bug(format!(
                    "no table is kept for {}",
                    other.kind().name()
                )));
            }
        }
    }
    Ok(())
}

/// Makes the tables of an event anew from its lines.
///
/// # Errors
/// [`StoreError::Refused`] if a line breaks a constraint that is younger than the line.
pub async fn rebuild(connection: &mut AsyncPgConnection, event: EventId) -> Result<(), StoreError> {
    connection
        .transaction(async |tx| rebuild_in_tx(tx, event).await)
        .await
}

async fn rebuild_in_tx(tx: &mut AsyncPgConnection, event: EventId) -> Result<(), StoreError> {
    events::table
        .filter(events::id.eq(event.0))
        .select(events::last_seq)
        .for_no_key_update()
        .first::<i64>(tx)
        .await?;
    // Names and sessions keep pointing at people who are away for the length of this transaction.
    tx.batch_execute("SET CONSTRAINTS ALL DEFERRED").await?;
    macro_rules! empty {
        ($($table:ident),*) => {$(
            diesel::delete($table::table.filter($table::event_id.eq(event.0)))
                .execute(tx)
                .await?;
        )*};
    }
    empty!(
        libraries,
        bouts,
        part_fits,
        part_histories,
        part_types,
        supplies,
        bottle_stamps,
        bottles,
        channels,
        chargers,
        circuits,
        set_packs,
        sets,
        packs,
        robots,
        people,
        teams,
        event_details
    );
    let register: Vec<Kind> = Kind::ALL
        .iter()
        .copied()
        .filter(|kind| kind.family() == Family::Register)
        .collect();
    const PAGE: i64 = 1000;
    let mut after = 0;
    loop {
        let page = logbook::list(
            tx,
            event,
            &logbook::Filter {
                kinds: register.clone(),
                after: Some(after),
                limit: PAGE,
                ..logbook::Filter::default()
            },
        )
        .await?;
        let Some(last) = page.last() else {
            return Ok(());
        };
        after = last.seq;
        for line in &page {
            apply_in_tx(tx, line).await?;
        }
    }
}
