//! Passwords, kept as argon2id hashes.
//!
//! Hashing takes tens of milliseconds of a processor on purpose: callers run it where blocking is
//! allowed.
//!
//! **Source** RFC 9106; parameters 19 MiB, two passes, one lane, the library's defaults.

use argon2::{Argon2, PasswordHash, PasswordHasher as _, PasswordVerifier as _};
use std::sync::LazyLock;

/// Fewest characters of a password. **Source** NIST SP 800-63B, 5.1.1.2: length before all else.
pub const MIN: usize = 10;
/// Most characters of a password.
pub const MAX: usize = 200;

/// The hash of no password, so that an unknown login takes as long as a wrong password.
static NOBODY: LazyLock<String> = LazyLock::new(|| {
    Argon2::default()
        .hash_password(b"nobody signs in with this")
        .map(|hash| hash.to_string())
        .unwrap_or_default()
});

/// The hash of `password`, as text in the PHC form.
///
/// # Errors
/// The library cannot hash, which has no cause outside this program.
pub fn hash(password: &str) -> Result<String, argon2::password_hash::Error> {
    Argon2::default()
        .hash_password(password.as_bytes())
        .map(|hash| hash.to_string())
}

/// Whether `password` is the one hashed. Without a hash the answer is no, after the same work.
pub fn is_right(hash: Option<&str>, password: &str) -> bool {
    let kept = hash.unwrap_or(&NOBODY);
    let right = PasswordHash::new(kept).is_ok_and(|kept| {
        Argon2::default()
            .verify_password(password.as_bytes(), &kept)
            .is_ok()
    });
    right && hash.is_some()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_password_that_was_hashed_is_right() {
        let kept = hash("correct horse").unwrap();
        assert!(kept.starts_with("$argon2id$"), "{kept}");
        assert!(is_right(Some(&kept), "correct horse"));
        assert!(!is_right(Some(&kept), "correct house"));
        assert!(!is_right(None, "nobody signs in with this"));
        assert!(!is_right(Some("not a hash"), "correct horse"));
    }

    #[test]
    fn an_unknown_login_costs_the_same_hash() {
        let known = PasswordHash::new(&hash("correct horse").unwrap())
            .unwrap()
            .params
            .to_string();
        let unknown = PasswordHash::new(&NOBODY).unwrap().params.to_string();
        assert_eq!(known, unknown);
    }
}
