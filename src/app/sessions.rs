//! Coming in and going out: accounts, join codes, sessions and their tokens.

use super::{AppError, IdSource, signed::Signed};
use crate::auth::{Tokens, code, password, throttle::Throttle};
use crate::pit::ids::{EventId, PersonId, TeamId};
use crate::pit::logbook::Role;
use crate::store::{
    accounts, join_codes,
    join_codes::JoinCode,
    pool::Pool,
    sessions::{self, Session},
};
use chrono::{DateTime, TimeDelta, Utc};
use std::{
    collections::HashMap,
    net::IpAddr,
    sync::{
        Arc, Mutex, PoisonError, RwLock,
        atomic::{AtomicU64, Ordering},
    },
};
use uuid::Uuid;

/// How long an account stays signed in.
const ACCOUNT_HOURS: i64 = 14;
/// How long a phone stays in: an event with the days around it.
const PHONE_DAYS: i64 = 4;
/// Two processes' clocks may differ by this much.
const CLOCKS_DIFFER_S: i64 = 10;

/// A session that just began, with the token that stands for it.
#[derive(Debug, Clone)]
pub struct Opened {
    /// What the phone shows from now on.
    pub token: String,
    /// Whose it is.
    pub signed: Signed,
}

/// Who comes in with a join code.
#[derive(Debug, Clone)]
pub struct Joining {
    /// The event.
    pub event: EventId,
    /// The team.
    pub team: Option<TeamId>,
    /// The role.
    pub role: Role,
    /// The person, where one was chosen.
    pub person: Option<PersonId>,
}

/// What a new join code is for.
#[derive(Debug, Clone, Copy)]
pub struct CodeFor {
    /// The event.
    pub event: EventId,
    /// The team; none for roles of the event.
    pub team: Option<TeamId>,
    /// The role it gives.
    pub role: Role,
    /// When it ends by itself.
    pub expires_at: DateTime<Utc>,
    /// How often it may be used; as often as wanted if not given.
    pub uses: Option<i32>,
}

/// Sessions of all events. Live ones are remembered, and forgotten again when they end in any
/// process: as soon as it says so, and within a second if its word is lost.
pub struct Sessions {
    pool: Pool,
    ids: Arc<dyn IdSource>,
    tokens: Tokens,
    throttle: Throttle,
    known: RwLock<HashMap<Uuid, Session>>,
    looked: Mutex<Option<DateTime<Utc>>>,
    worked_kib: AtomicU64,
}

impl Sessions {
    /// Sessions kept behind `pool`, with tokens of one key.
    pub fn new(pool: Pool, ids: Arc<dyn IdSource>, tokens: Tokens) -> Self {
        Self {
            pool,
            ids,
            tokens,
            throttle: Throttle::new(),
            known: RwLock::default(),
            looked: Mutex::default(),
            worked_kib: AtomicU64::new(0),
        }
    }

    /// Who shows `token`. The role is looked up, so a session that was ended no longer counts.
    ///
    /// # Errors
    /// [`AppError::Unauthenticated`], [`AppError::Unavailable`].
    pub async fn signed(&self, token: &str, now: DateTime<Utc>) -> Result<Signed, AppError> {
        let claims = self
            .tokens
            .read(token, now)
            .map_err(|_| AppError::Unauthenticated)?;
        let remembered = self
            .known
            .read()
            .unwrap_or_else(PoisonError::into_inner)
            .get(&claims.sub)
            .cloned();
        let session = match remembered {
            Some(session) => session,
            None => {
                let mut connection = self.pool.get().await?;
                let session = sessions::by_id(&mut connection, claims.sub)
                    .await?
                    .ok_or(AppError::Unauthenticated)?;
                self.remember(session.clone());
                session
            }
        };
        if session.is_live(now) {
            Ok(Signed::from(&session))
        } else {
            Err(AppError::Unauthenticated)
        }
    }

    /// The people who are signed in at an event, each with their roles.
    ///
    /// # Errors
    /// [`AppError::Unavailable`].
    pub async fn people_at(
        &self,
        event: EventId,
        now: DateTime<Utc>,
    ) -> Result<Vec<(PersonId, Role)>, AppError> {
        let mut connection = self.pool.get().await?;
        Ok(sessions::people_at(&mut connection, event, now).await?)
    }

    /// Signs an account in.
    ///
    /// # Errors
    /// [`AppError::Unauthenticated`] for an unknown login as for a wrong password, after the same
    /// work; [`AppError::TooMany`].
    pub async fn sign_in(
        &self,
        login: &str,
        password: String,
        from: IpAddr,
        now: DateTime<Utc>,
    ) -> Result<Opened, AppError> {
        self.throttle
            .sign_in(login, from)
            .map_err(|retry_after_s| AppError::TooMany { retry_after_s })?;
        let account = {
            let mut connection = self.pool.get().await?;
            accounts::by_login(&mut connection, login).await?
        };
        let hash = account
            .as_ref()
            .map(|account| account.password_hash.clone());
        let checked =
            tokio::task::spawn_blocking(move || password::check(hash.as_deref(), &password))
                .await
                .map_err(AppError::bug)?;
        self.worked_kib
            .fetch_add(checked.work_kib, Ordering::Relaxed);
        let account = account
            .filter(|account| {
                checked.right && account.disabled_at.is_none() && account.is_organiser
            })
            .ok_or(AppError::Unauthenticated)?;
        self.open(Session {
            id: self.ids.id(now),
            event: None,
            person: None,
            team: None,
            account: Some(account.id),
            role: Role::Organiser,
            created_at: now,
            expires_at: now + TimeDelta::hours(ACCOUNT_HOURS),
            revoked_at: None,
        })
        .await
    }

    /// How much memory was filled so far to check passwords at sign-in, in KiB: the work by which
    /// an unknown login could be told from a wrong password if it were not the same.
    pub fn worked_kib(&self) -> u64 {
        self.worked_kib.load(Ordering::Relaxed)
    }

    /// What a join code is for, without using it.
    ///
    /// # Errors
    /// [`AppError::Unauthenticated`] if no code like it holds, [`AppError::TooMany`].
    pub async fn look_at_code(
        &self,
        typed: &str,
        from: IpAddr,
        now: DateTime<Utc>,
    ) -> Result<JoinCode, AppError> {
        self.throttle
            .join(from)
            .map_err(|retry_after_s| AppError::TooMany { retry_after_s })?;
        let code = code::read(typed).ok_or(AppError::Unauthenticated)?;
        let mut connection = self.pool.get().await?;
        join_codes::look(&mut connection, code::hash(&code), now)
            .await?
            .ok_or(AppError::Unauthenticated)
    }

    /// Counts a PIN typed for `person`.
    ///
    /// # Errors
    /// [`AppError::TooMany`].
    pub(super) fn count_pin(&self, person: PersonId) -> Result<(), AppError> {
        self.throttle
            .pin(person)
            .map_err(|retry_after_s| AppError::TooMany { retry_after_s })
    }

    /// Uses a code once.
    ///
    /// # Errors
    /// As [`Sessions::look_at_code`].
    pub async fn use_code(&self, code: &JoinCode, now: DateTime<Utc>) -> Result<(), AppError> {
        let mut connection = self.pool.get().await?;
        join_codes::use_once(&mut connection, code.code_hash, now)
            .await?
            .map(|_| ())
            .ok_or(AppError::Unauthenticated)
    }

    /// Begins the session of somebody who joined an event.
    ///
    /// # Errors
    /// [`AppError::Refused`] if the person or team does not exist.
    pub async fn open_for(&self, who: Joining, now: DateTime<Utc>) -> Result<Opened, AppError> {
        self.open(Session {
            id: self.ids.id(now),
            event: Some(who.event),
            person: who.person,
            team: who.team,
            account: None,
            role: who.role,
            created_at: now,
            expires_at: now + TimeDelta::days(PHONE_DAYS),
            revoked_at: None,
        })
        .await
    }

    /// Ends a session.
    ///
    /// # Errors
    /// [`AppError::Unavailable`].
    pub async fn end(&self, session: Uuid, now: DateTime<Utc>) -> Result<(), AppError> {
        let mut connection = self.pool.get().await?;
        sessions::revoke(&mut connection, session, now).await?;
        self.forget(&[session]);
        Ok(())
    }

    /// Ends every session of a person.
    ///
    /// # Errors
    /// [`AppError::Unavailable`].
    pub async fn end_all_of(
        &self,
        event: EventId,
        person: PersonId,
        now: DateTime<Utc>,
    ) -> Result<(), AppError> {
        let mut connection = self.pool.get().await?;
        let ended = sessions::revoke_person(&mut connection, event, person, now).await?;
        self.forget(&ended);
        Ok(())
    }

    /// Makes a join code, for an account if one asks. It is shown once and kept only as a hash.
    ///
    /// # Errors
    /// [`AppError::Refused`] if the team does not exist.
    pub async fn make_code(
        &self,
        by_account: Option<Uuid>,
        what: CodeFor,
    ) -> Result<String, AppError> {
        let made = code::make();
        let mut connection = self.pool.get().await?;
        join_codes::add(
            &mut connection,
            &JoinCode {
                event: what.event,
                code_hash: code::hash(&made),
                team: what.team,
                role: what.role,
                expires_at: what.expires_at,
                uses_left: what.uses,
                created_by: by_account,
                revoked_at: None,
            },
        )
        .await?;
        Ok(made)
    }

    /// Withdraws a join code of an event.
    ///
    /// # Errors
    /// [`AppError::Unknown`] if there is none.
    pub async fn withdraw_code(
        &self,
        event: EventId,
        typed: &str,
        now: DateTime<Utc>,
    ) -> Result<(), AppError> {
        let code = code::read(typed).ok_or(AppError::Unknown)?;
        let mut connection = self.pool.get().await?;
        if join_codes::revoke(&mut connection, event, code::hash(&code), now).await? {
            Ok(())
        } else {
            Err(AppError::Unknown)
        }
    }

    /// Forgets sessions that ended in any process since the last look; called each second.
    ///
    /// # Errors
    /// [`AppError::Unavailable`]; then nothing is remembered, so that nothing ended can count.
    pub async fn look_for_ended(&self, now: DateTime<Utc>) -> Result<(), AppError> {
        let since = self
            .looked
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .unwrap_or(now)
            - TimeDelta::seconds(CLOCKS_DIFFER_S);
        let ended = match self.pool.get().await {
            Ok(mut connection) => sessions::revoked_since(&mut connection, since).await,
            Err(cause) => Err(cause),
        };
        match ended {
            Ok(ended) => {
                self.forget(&ended);
                *self.looked.lock().unwrap_or_else(PoisonError::into_inner) = Some(now);
                self.throttle.tidy();
                self.forget_late(now);
                Ok(())
            }
            Err(cause) => {
                self.known
                    .write()
                    .unwrap_or_else(PoisonError::into_inner)
                    .clear();
                Err(cause.into())
            }
        }
    }

    async fn open(&self, session: Session) -> Result<Opened, AppError> {
        let token = self
            .tokens
            .issue(
                session.id,
                session.person.map(|person| person.0),
                session.created_at,
                session.expires_at,
            )
            .map_err(AppError::bug)?;
        let mut connection = self.pool.get().await?;
        sessions::open(&mut connection, &session).await?;
        let signed = Signed::from(&session);
        self.remember(session);
        Ok(Opened { token, signed })
    }

    fn remember(&self, session: Session) {
        self.known
            .write()
            .unwrap_or_else(PoisonError::into_inner)
            .insert(session.id, session);
    }

    /// Sessions that ended are looked up again.
    pub(super) fn forget(&self, ended: &[Uuid]) {
        let mut known = self.known.write().unwrap_or_else(PoisonError::into_inner);
        for id in ended {
            known.remove(id);
        }
    }

    fn forget_late(&self, now: DateTime<Utc>) {
        self.known
            .write()
            .unwrap_or_else(PoisonError::into_inner)
            .retain(|_, session| session.is_live(now));
    }
}
