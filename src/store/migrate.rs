//! Brings a database to the form this program needs.

use diesel_async::async_connection_wrapper::AsyncConnectionWrapper;
use diesel_async::{AsyncConnection, AsyncPgConnection, RunQueryDsl, SimpleAsyncConnection};
use diesel_migrations::{EmbeddedMigrations, MigrationHarness, embed_migrations};

use super::StoreError;
use super::cluster::APP;
use super::pool::Access;

/// Every change to the tables, in order.
pub const MIGRATIONS: EmbeddedMigrations = embed_migrations!("migrations");

/// What the serving role may do; given again after every migration, so that no new table is
/// forgotten.
const RIGHTS: &str = include_str!("rights.sql");

/// Any number that nothing else locks: processes that start together migrate one after another.
const ONE_AT_A_TIME: i64 = 0x6c69_6e6b_6f75_7401;

/// Migrates the database, and gives the serving role its rights.
///
/// Returns how to reach the database from now on: if the given account may not create the serving
/// role, the service works as the account itself, and a warning is logged. The triggers of the
/// logbook hold in any case.
///
/// # Errors
/// [`StoreError::Unavailable`] if the database cannot be reached, [`StoreError::Bug`] if a
/// migration fails.
pub async fn migrate(access: Access) -> Result<Access, StoreError> {
    let mut owner = AsyncPgConnection::establish(&access.owner_url)
        .await
        .map_err(|cause| StoreError::Unavailable(Box::new(cause)))?;
    diesel::sql_query("SELECT pg_advisory_lock($1)")
        .bind::<diesel::sql_types::BigInt, _>(ONE_AT_A_TIME)
        .execute(&mut owner)
        .await?;
    // Migrations that a crash undoes are only run again, so they need not each wait for the disk;
    // what follows them does, and takes them along.
    owner.batch_execute("SET synchronous_commit = off").await?;
    let mut owner = run_pending(owner).await?;
    owner.batch_execute("RESET synchronous_commit").await?;
    match give_rights(&mut owner, &access).await {
        Ok(()) => Ok(access),
        Err(cause) if access.role.is_some() => {
            tracing::warn!(
                cause = %cause,
                "the role {APP} cannot be used; serving as the account of the address"
            );
            Ok(Access {
                role: None,
                ..access
            })
        }
        Err(cause) => Err(cause),
    }
    // The lock ends with the connection.
}

async fn run_pending(owner: AsyncPgConnection) -> Result<AsyncPgConnection, StoreError> {
    // The migrations want a blocking connection, and blocking is allowed only off the workers.
    let work = tokio::task::spawn_blocking(move || {
        let mut wrapper = AsyncConnectionWrapper::<AsyncPgConnection>::from(owner);
        for version in wrapper.run_pending_migrations(MIGRATIONS)? {
            tracing::info!(%version, "migrated");
        }
        Ok(wrapper.into_inner())
    });
    work.await
        .map_err(|cause| StoreError::Bug(Box::new(cause)))?
        .map_err(StoreError::Bug)
}

async fn give_rights(owner: &mut AsyncPgConnection, access: &Access) -> Result<(), StoreError> {
    if access.role.is_some() && take_role(owner).await.is_err() {
        // Roles belong to the whole server: another database of it may have created this one.
        owner
            .batch_execute(&format!(
                "DO $$ BEGIN
                    IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = '{APP}') THEN
                        CREATE ROLE {APP} NOLOGIN;
                    END IF;
                 END $$;
                 GRANT {APP} TO CURRENT_USER;"
            ))
            .await?;
        take_role(owner).await?;
    }
    owner.batch_execute(RIGHTS).await?;
    Ok(())
}

/// Tries what every serving connection will do.
async fn take_role(owner: &mut AsyncPgConnection) -> Result<(), StoreError> {
    let statement = format!("SET ROLE {APP}; RESET ROLE;");
    owner.batch_execute(&statement).await?;
    Ok(())
}
