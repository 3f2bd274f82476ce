//! What many ask for and is the same for all of them: worked out once and kept as bytes.

use super::AppError;
use crate::pit::state::{Pit, View};
use base64::{Engine as _, engine::general_purpose::URL_SAFE_NO_PAD};
use bytes::Bytes;
use chrono::{DateTime, Utc};
use sha2::{Digest as _, Sha256};
use std::sync::{Arc, Mutex, PoisonError};

/// Bytes of a digest that are enough to tell contents apart.
const TELLS_APART: usize = 16;

/// Bytes, with a name that no other bytes have.
#[derive(Debug, Clone)]
pub struct Named {
    /// The bytes.
    pub bytes: Bytes,
    /// Their name: what RFC 9110 section 8.8.3 calls an opaque tag, without its quotes.
    pub name: Arc<str>,
}

impl Named {
    /// Names bytes by their content.
    fn of(bytes: Vec<u8>) -> Self {
        let digest = Sha256::digest(&bytes);
        Self {
            name: URL_SAFE_NO_PAD.encode(&digest[..TELLS_APART]).into(),
            bytes: bytes.into(),
        }
    }
}

/// One answer about an event, the same for everybody who may have it, kept as long as it holds:
/// until a line is recorded or, without any, until it changes by time alone.
#[derive(Debug, Default)]
pub struct Kept(Mutex<Option<Last>>);

#[derive(Debug)]
struct Last {
    after_seq: i64,
    from: DateTime<Utc>,
    until: Option<DateTime<Utc>>,
    answer: Named,
}

impl Last {
    /// Whether it is what would be worked out of `pit` at `now`. A clock that was set back makes it
    /// an answer of a time to come, which holds no longer.
    fn holds(&self, pit: &Pit, now: DateTime<Utc>) -> bool {
        self.after_seq == pit.last_seq
            && self.from <= now
            && self.until.is_none_or(|until| now < until)
    }
}

impl Kept {
    /// The answer at `now`: what is kept, or else what `make` says. Whoever asks meanwhile waits,
    /// which is sooner done than the same work once more.
    ///
    /// # Errors
    /// What `make` fails with; nothing is kept of that.
    pub fn at(
        &self,
        pit: &Pit,
        now: DateTime<Utc>,
        make: impl FnOnce() -> Result<View<Vec<u8>>, AppError>,
    ) -> Result<Named, AppError> {
        let mut last = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(kept) = last.as_ref().filter(|kept| kept.holds(pit, now)) {
            return Ok(kept.answer.clone());
        }
        let View { value, changes_at } = make()?;
        let answer = Named::of(value);
        // Whoever came before a line was known and is served after it gets their answer all the same.
        if last
            .as_ref()
            .is_none_or(|kept| kept.after_seq <= pit.last_seq)
        {
            *last = Some(Last {
                after_seq: pit.last_seq,
                from: now,
                until: changes_at,
                answer: answer.clone(),
            });
        }
        Ok(answer)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn moment(second: i64) -> DateTime<Utc> {
        DateTime::from_timestamp(1_800_000_000 + second, 0).unwrap()
    }

    fn after(last_seq: i64) -> Pit {
        let mut pit = Pit::default();
        pit.last_seq = last_seq;
        pit
    }

    /// Asks at `second`, where each answer says when it was made and holds for 10 s.
    fn ask(kept: &Kept, seq: i64, second: i64) -> String {
        let made = kept.at(&after(seq), moment(second), || {
            Ok(View {
                value: format!("{seq} at {second}").into_bytes(),
                changes_at: Some(moment(second + 10)),
            })
        });
        String::from_utf8(made.unwrap().bytes.to_vec()).unwrap()
    }

    #[test]
    fn an_answer_outlives_neither_a_line_nor_its_time() {
        let kept = Kept::default();
        for (seq, second, answer) in [
            (1, 0, "1 at 0"),
            (1, 9, "1 at 0"),
            (1, 10, "1 at 10"),
            (2, 11, "2 at 11"),
            (2, 20, "2 at 11"),
            // Asked before line 2 was known, served after: what is kept stays.
            (1, 12, "1 at 12"),
            (2, 20, "2 at 11"),
            // The clock was set back.
            (2, 5, "2 at 5"),
            (2, 14, "2 at 5"),
        ] {
            assert_eq!(ask(&kept, seq, second), answer, "{seq} {second}");
        }
    }

    #[test]
    fn what_failed_is_not_kept_and_what_never_changes_stays() {
        let kept = Kept::default();
        let failed = kept.at(&after(1), moment(0), || Err(AppError::Unknown));
        assert!(failed.is_err());
        let forever = |value: &str| {
            let value = value.to_owned().into_bytes();
            let made = kept.at(&after(1), moment(0), || {
                Ok(View {
                    value,
                    changes_at: None,
                })
            });
            made.unwrap()
        };
        let first = forever("first");
        assert_eq!(forever("second").bytes, "first");
        let late = kept.at(&after(1), moment(1_000_000), || Err(AppError::Unknown));
        assert_eq!(late.unwrap().name, first.name);
    }

    #[test]
    fn equal_bytes_have_one_name_and_others_another() {
        let name = |text: &str| Named::of(text.as_bytes().to_vec()).name;
        assert_eq!(name("board"), name("board"));
        assert_ne!(name("board"), name("Board"));
        // SHA-256 of "abc", FIPS 180-4 example B.1: ba7816bf 8f01cfea 414140de 5dae2223 …
        assert_eq!(&*name("abc"), "ungWv48Bz-pBQUDeXa4iIw");
    }
}
