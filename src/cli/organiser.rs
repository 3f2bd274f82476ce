//! `linkout organiser`: the first way in, from the command line of whoever runs the service.

use super::{Failure, Opened, Place};
use crate::app::{Clock as _, accounts, clock::SystemClock, id_source::RandomIds};
use crate::auth::code;
use clap::{Args, Subcommand};
use std::io::{IsTerminal as _, Read as _};

/// Adds and closes organisers' accounts.
#[derive(Subcommand)]
pub enum Organiser {
    /// Adds an organiser. The password is read from stdin if something is piped in; otherwise one
    /// is made and printed.
    Add(Login),
    /// Closes an organiser's account and ends its sessions.
    Close(Login),
}

/// Whose account.
#[derive(Args)]
pub struct Login {
    /// What the organiser types to sign in.
    #[arg(long)]
    login: String,
    #[command(flatten)]
    place: Place,
}

impl Organiser {
    /// Does it.
    ///
    /// # Errors
    /// The database cannot be reached, the login is taken or unknown, the password is too short.
    pub async fn run(self) -> Result<(), Failure> {
        let now = SystemClock.now();
        match self {
            Self::Add(Login { login, place }) => {
                let (password, made) = password()?;
                let opened = Opened::open(place.database(), 1).await?;
                let ids = RandomIds::new(rand::make_rng::<rand::rngs::StdRng>());
                let added =
                    accounts::add_organiser(&opened.pool, &ids, &login, &password, now).await;
                opened.close().await;
                added?;
                println!("login:    {login}");
                if made {
                    println!("password: {password}");
                }
            }
            Self::Close(Login { login, place }) => {
                let opened = Opened::open(place.database(), 1).await?;
                let closed = accounts::close(&opened.pool, &login, now).await;
                opened.close().await;
                closed?;
            }
        }
        Ok(())
    }
}

/// The password that was piped in, or a new one of 100 bits.
fn password() -> Result<(String, bool), Failure> {
    if std::io::stdin().is_terminal() {
        return Ok((format!("{}-{}", code::make(), code::make()), true));
    }
    let mut text = String::new();
    std::io::stdin().read_to_string(&mut text)?;
    let piped = text.trim_end_matches(['\r', '\n']);
    if piped.is_empty() {
        return Ok((format!("{}-{}", code::make(), code::make()), true));
    }
    Ok((piped.to_owned(), false))
}
