//! Tokens: what a phone shows so that linkout knows its session.
//!
//! **Source** RFC 7519; RFC 8725: one algorithm that the token cannot choose (3.1), a key of full
//! entropy (3.5), issuer and audience checked (3.8, 3.9), a type of its own (3.11).

use base64::{Engine as _, engine::general_purpose::STANDARD};
use chrono::{DateTime, Utc};
use jsonwebtoken::{Algorithm, DecodingKey, EncodingKey, Header, Validation};
use rand::Rng as _;
use serde::{Deserialize, Serialize};
use std::{
    fs, io,
    os::unix::fs::{OpenOptionsExt as _, PermissionsExt as _},
    path::{Path, PathBuf},
};
use uuid::Uuid;

const NAME: &str = "linkout";
const TYPE: &str = "linkout-session+jwt";
const KEY_BYTES: usize = 32;

/// The secret that tokens are signed with. Every process of one service has the same.
#[derive(Clone)]
pub struct Key([u8; KEY_BYTES]);

/// Why there is no key.
#[derive(Debug, thiserror::Error)]
pub enum KeyError {
    /// The text is not a key.
    #[error(
        "a token key is {KEY_BYTES} bytes in base64, as `openssl rand -base64 {KEY_BYTES}` makes it"
    )]
    Form,
    /// The file cannot be read or made.
    #[error("keeping the token key in {path}")]
    File {
        /// The file.
        path: PathBuf,
        /// What went wrong.
        #[source]
        cause: io::Error,
    },
}

impl Key {
    /// A new key.
    pub fn new() -> Self {
        let mut bytes = [0; KEY_BYTES];
        rand::rng().fill_bytes(&mut bytes);
        Self(bytes)
    }

    /// The key written `text` in base64.
    ///
    /// # Errors
    /// [`KeyError::Form`] if it is not one.
    pub fn read(text: &str) -> Result<Self, KeyError> {
        let bytes = STANDARD.decode(text.trim()).map_err(|_| KeyError::Form)?;
        bytes.try_into().map(Self).map_err(|_| KeyError::Form)
    }

    /// The key kept in `data`, made on the first start, readable by its owner alone.
    ///
    /// # Errors
    /// [`KeyError`] if it cannot be read or kept.
    pub fn kept_in(data: &Path) -> Result<Self, KeyError> {
        let path = data.join("token.key");
        let failed = |cause| KeyError::File {
            path: path.clone(),
            cause,
        };
        fs::create_dir_all(data).map_err(failed)?;
        match fs::read_to_string(&path) {
            Ok(text) => {
                fs::set_permissions(&path, fs::Permissions::from_mode(0o600)).map_err(failed)?;
                Self::read(&text)
            }
            Err(cause) if cause.kind() == io::ErrorKind::NotFound => {
                let key = Self::new();
                let mut file = fs::OpenOptions::new()
                    .write(true)
                    .create_new(true)
                    .mode(0o600)
                    .open(&path)
                    .map_err(failed)?;
                io::Write::write_all(&mut file, STANDARD.encode(key.0).as_bytes())
                    .and_then(|()| file.sync_all())
                    .map_err(failed)?;
                Ok(key)
            }
            Err(cause) => Err(failed(cause)),
        }
    }
}

impl Default for Key {
    fn default() -> Self {
        Self::new()
    }
}

/// What a token says.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Claims {
    iss: String,
    aud: String,
    /// The session.
    pub sub: Uuid,
    /// The person, so that whoever holds a token that ended can be asked to rejoin as the same.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub person: Option<Uuid>,
    iat: i64,
    exp: i64,
}

impl Claims {
    /// Until when it counts.
    pub fn expires_at(&self) -> Option<DateTime<Utc>> {
        DateTime::from_timestamp(self.exp, 0)
    }
}

/// Why a token does not count.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum TokenError {
    /// Not one of ours.
    #[error("it is not a token of this service")]
    Foreign,
    /// Ended.
    #[error("it has ended")]
    Ended,
}

/// Makes and reads tokens.
pub struct Tokens {
    signs: EncodingKey,
    reads: DecodingKey,
    rules: Validation,
}

impl Tokens {
    /// Tokens signed with `key`.
    pub fn new(key: &Key) -> Self {
        let mut rules = Validation::new(Algorithm::HS256);
        rules.set_issuer(&[NAME]);
        rules.set_audience(&[NAME]);
        rules.set_required_spec_claims(&["exp", "iss", "aud", "sub"]);
        // The library would read a clock of its own; `read` is told the time.
        rules.validate_exp = false;
        Self {
            signs: EncodingKey::from_secret(&key.0),
            reads: DecodingKey::from_secret(&key.0),
            rules,
        }
    }

    /// A token for a session.
    ///
    /// # Errors
    /// The library cannot sign, which has no cause outside this program.
    pub fn issue(
        &self,
        session: Uuid,
        person: Option<Uuid>,
        now: DateTime<Utc>,
        until: DateTime<Utc>,
    ) -> Result<String, jsonwebtoken::errors::Error> {
        let mut header = Header::new(Algorithm::HS256);
        header.typ = Some(TYPE.to_owned());
        let claims = Claims {
            iss: NAME.to_owned(),
            aud: NAME.to_owned(),
            sub: session,
            person,
            iat: now.timestamp(),
            exp: until.timestamp(),
        };
        jsonwebtoken::encode(&header, &claims, &self.signs)
    }

    /// What `token` says, if it is one of ours and has not ended by `now`.
    ///
    /// # Errors
    /// [`TokenError`] otherwise.
    pub fn read(&self, token: &str, now: DateTime<Utc>) -> Result<Claims, TokenError> {
        let read = jsonwebtoken::decode::<Claims>(token, &self.reads, &self.rules)
            .map_err(|_| TokenError::Foreign)?;
        if read.header.typ.as_deref() != Some(TYPE) {
            return Err(TokenError::Foreign);
        }
        if read.claims.exp <= now.timestamp() {
            return Err(TokenError::Ended);
        }
        Ok(read.claims)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use base64::engine::general_purpose::URL_SAFE_NO_PAD;
    use chrono::TimeDelta;

    fn now() -> DateTime<Utc> {
        DateTime::from_timestamp(1_800_000_000, 0).unwrap()
    }

    fn issued(tokens: &Tokens) -> String {
        tokens
            .issue(Uuid::from_u128(1), None, now(), now() + TimeDelta::hours(1))
            .unwrap()
    }

    #[test]
    fn a_token_counts_until_its_end() {
        let tokens = Tokens::new(&Key::new());
        let token = issued(&tokens);
        assert_eq!(tokens.read(&token, now()).unwrap().sub, Uuid::from_u128(1));
        let end = now() + TimeDelta::hours(1);
        assert_eq!(tokens.read(&token, end), Err(TokenError::Ended));
    }

    #[test]
    fn a_token_of_another_key_algorithm_or_type_does_not_count() {
        let key = Key::new();
        let tokens = Tokens::new(&key);
        let token = issued(&tokens);
        let foreign = |token: &str| assert_eq!(tokens.read(token, now()), Err(TokenError::Foreign));

        foreign(&issued(&Tokens::new(&Key::new())));
        // RFC 8725 section 2.1: the header must not be able to switch the signature off.
        let (_, rest) = token.split_once('.').unwrap();
        let (claims, _) = rest.split_once('.').unwrap();
        let none = URL_SAFE_NO_PAD.encode(format!(r#"{{"alg":"none","typ":"{TYPE}"}}"#));
        foreign(&format!("{none}.{claims}."));
        // Section 3.11: signed by us, but made for something else.
        let other = Header::new(Algorithm::HS256);
        let claims: Claims =
            serde_json::from_slice(&URL_SAFE_NO_PAD.decode(claims).unwrap()).unwrap();
        foreign(&jsonwebtoken::encode(&other, &claims, &EncodingKey::from_secret(&key.0)).unwrap());
        let mut elsewhere = Header::new(Algorithm::HS256);
        elsewhere.typ = Some(TYPE.to_owned());
        let claims = Claims {
            aud: "elsewhere".to_owned(),
            ..claims
        };
        foreign(
            &jsonwebtoken::encode(&elsewhere, &claims, &EncodingKey::from_secret(&key.0)).unwrap(),
        );
        foreign("");
        foreign("a.b.c");
    }

    #[test]
    fn a_kept_key_is_the_same_again_and_private() {
        let data = std::env::temp_dir().join(format!("linkout-key-{}", std::process::id()));
        let (first, again) = (Key::kept_in(&data).unwrap(), Key::kept_in(&data).unwrap());
        assert_eq!(first.0, again.0);
        let mode = fs::metadata(data.join("token.key"))
            .unwrap()
            .permissions()
            .mode();
        assert_eq!(mode & 0o777, 0o600);
        fs::remove_dir_all(&data).unwrap();
    }
}
