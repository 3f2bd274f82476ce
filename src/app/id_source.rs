//! Where new ids come from.

use chrono::{DateTime, Utc};
use std::sync::{Mutex, PoisonError};
use uuid::{Builder, Uuid};

/// Makes UUIDv7: sortable by the moment they were made (RFC 9562 section 5.7).
pub trait IdSource: Send + Sync {
    /// A new id made at `now`.
    fn id(&self, now: DateTime<Utc>) -> Uuid;
}

/// Ids with bits from a random generator.
pub struct RandomIds<R>(Mutex<R>);

impl<R: rand::Rng> RandomIds<R> {
    /// Ids whose random bits come from `generator`.
    pub fn new(generator: R) -> Self {
        Self(Mutex::new(generator))
    }
}

impl<R: rand::Rng + Send> IdSource for RandomIds<R> {
    fn id(&self, now: DateTime<Utc>) -> Uuid {
        let mut bits = [0; 10];
        self.0
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .fill_bytes(&mut bits);
        let since_epoch_ms = u64::try_from(now.timestamp_millis()).unwrap_or(0);
        Builder::from_unix_timestamp_millis(since_epoch_ms, &bits).into_uuid()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::SeedableRng as _;

    #[test]
    fn ids_sort_by_the_moment_and_repeat_by_the_seed() {
        let ids = || RandomIds::new(rand_chacha::ChaCha12Rng::seed_from_u64(7));
        let early = DateTime::from_timestamp(1_000, 0).unwrap();
        let late = DateTime::from_timestamp(1_001, 0).unwrap();
        assert!(ids().id(early) < ids().id(late));
        assert_eq!(ids().id(early), ids().id(early));
        assert_eq!(ids().id(early).get_version_num(), 7);
    }
}
