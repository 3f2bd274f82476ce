//! Join codes: what a poster or a QR code carries to bring a phone into a team and a role.

use rand::Rng as _;
use sha2::{Digest as _, Sha256};

/// Letters and digits that are not taken for one another. **Source** Crockford's base 32.
const ALPHABET: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";
/// Letters of a code: 50 bits, which with throttled tries nobody guesses within an event.
const LETTERS: usize = 10;

/// A new code, in two halves of five.
pub fn make() -> String {
    let mut bytes = [0; LETTERS];
    rand::rng().fill_bytes(&mut bytes);
    let letters: String = bytes
        .into_iter()
        .map(|byte| char::from(ALPHABET[usize::from(byte & 31)]))
        .collect();
    let (first, second) = letters.split_at(LETTERS / 2);
    format!("{first}-{second}")
}

/// The code somebody typed, as it was made: any case, blanks and dashes anywhere, and the letters
/// that are easily mistaken taken for what was meant.
pub fn read(typed: &str) -> Option<String> {
    let letters: String = typed
        .chars()
        .filter(|c| !c.is_whitespace() && *c != '-')
        .map(|c| match c.to_ascii_uppercase() {
            'O' => '0',
            'I' | 'L' => '1',
            other => other,
        })
        .collect();
    let known = |c: char| u8::try_from(c).is_ok_and(|byte| ALPHABET.contains(&byte));
    (letters.len() == LETTERS && letters.chars().all(known)).then(|| {
        let (first, second) = letters.split_at(LETTERS / 2);
        format!("{first}-{second}")
    })
}

/// What is kept of a code.
pub fn hash(code: &str) -> [u8; 32] {
    Sha256::digest(code.as_bytes()).into()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_code_is_read_as_people_type_it() {
        let code = make();
        assert_eq!(code.len(), LETTERS + 1);
        assert_eq!(read(&code), Some(code.clone()));
        assert_eq!(
            read(&format!(" {} ", code.to_lowercase().replace('-', " "))),
            Some(code)
        );
        assert_eq!(read("oil01-abcde"), Some("01101-ABCDE".to_owned()));
        assert_eq!(read("U0000-00000"), None);
        assert_eq!(read("0000é-0000"), None);
        assert_ne!(make(), make());
    }
}
