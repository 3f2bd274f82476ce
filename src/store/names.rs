//! People's names and PINs: kept apart from the lines, so that a person can be erased while their
//! lines stand.

use std::collections::{BTreeMap, BTreeSet};

use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};

use super::StoreError;
use super::schema::people_names;
use crate::pit::ids::{EventId, PersonId};

/// Gives a registered person a name, or another one.
///
/// # Errors
/// [`StoreError::Refused`] by `people_names_person_fk` if the person is not registered, by
/// `people_names_name_length` if the name is empty or too long.
pub async fn set(
    connection: &mut AsyncPgConnection,
    event: EventId,
    person: PersonId,
    name: &str,
) -> Result<(), StoreError> {
    diesel::insert_into(people_names::table)
        .values((
            people_names::event_id.eq(event.0),
            people_names::person_id.eq(person.0),
            people_names::name.eq(name),
        ))
        .on_conflict((people_names::event_id, people_names::person_id))
        .do_update()
        .set(people_names::name.eq(name))
        .execute(connection)
        .await?;
    Ok(())
}

/// The names of everybody at an event who has one.
///
/// # Errors
/// [`StoreError::Unavailable`].
pub async fn of_event(
    connection: &mut AsyncPgConnection,
    event: EventId,
) -> Result<BTreeMap<PersonId, String>, StoreError> {
    let rows: Vec<(uuid::Uuid, String)> = people_names::table
        .filter(people_names::event_id.eq(event.0))
        .select((people_names::person_id, people_names::name))
        .load(connection)
        .await?;
    Ok(rows
        .into_iter()
        .map(|(person, name)| (PersonId(person), name))
        .collect())
}

/// Erases a person's name and PIN; `false` if there was none.
///
/// # Errors
/// [`StoreError::Unavailable`].
pub async fn erase(
    connection: &mut AsyncPgConnection,
    event: EventId,
    person: PersonId,
) -> Result<bool, StoreError> {
    let erased = diesel::delete(people_names::table.find((event.0, person.0)))
        .execute(connection)
        .await?;
    Ok(erased == 1)
}

/// The hash of a person's PIN.
///
/// # Errors
/// [`StoreError::Unavailable`].
pub async fn pin_hash(
    connection: &mut AsyncPgConnection,
    event: EventId,
    person: PersonId,
) -> Result<Option<String>, StoreError> {
    let found: Option<Option<String>> = people_names::table
        .find((event.0, person.0))
        .select(people_names::pin_hash)
        .first(connection)
        .await
        .optional()?;
    Ok(found.flatten())
}

/// Everybody at an event who has a PIN.
///
/// # Errors
/// [`StoreError::Unavailable`].
pub async fn who_have_a_pin(
    connection: &mut AsyncPgConnection,
    event: EventId,
) -> Result<BTreeSet<PersonId>, StoreError> {
    let people: Vec<uuid::Uuid> = people_names::table
        .filter(people_names::event_id.eq(event.0))
        .filter(people_names::pin_hash.is_not_null())
        .select(people_names::person_id)
        .load(connection)
        .await?;
    Ok(people.into_iter().map(PersonId).collect())
}

/// Sets the hash of a person's PIN, or takes the PIN away; `false` if the person has no name.
///
/// # Errors
/// [`StoreError::Unavailable`].
pub async fn set_pin_hash(
    connection: &mut AsyncPgConnection,
    event: EventId,
    person: PersonId,
    pin_hash: Option<&str>,
) -> Result<bool, StoreError> {
    let changed = diesel::update(people_names::table.find((event.0, person.0)))
        .set(people_names::pin_hash.eq(pin_hash))
        .execute(connection)
        .await?;
    Ok(changed == 1)
}
