//! The token, and the proof that the other side knows it.

use super::control::{Nonce, in_hex};
use hmac_sha256::HMAC;

/// 128 bits that both sides know and nobody else.
#[derive(Clone, PartialEq, Eq)]
pub struct Token([u8; 16]);

/// Never shown by accident.
impl std::fmt::Debug for Token {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Token(..)")
    }
}

impl Token {
    /// A new one, from the system's own source of secrets.
    ///
    /// # Errors
    /// Where the system has none.
    pub fn new() -> std::io::Result<Self> {
        Ok(Self(nonce()?))
    }

    /// Out of what [`Token::shown`] wrote; blanks and dashes do not matter.
    pub fn read(text: &str) -> Option<Self> {
        let digits: Vec<u8> = text
            .chars()
            .filter(|c| !c.is_whitespace() && *c != '-')
            .take(33)
            .map(|c| c.to_digit(16).map(|digit| digit as u8))
            .collect::<Option<_>>()?;
        if digits.len() != 32 {
            return None;
        }
        let mut bytes = [0; 16];
        for (byte, pair) in bytes.iter_mut().zip(digits.chunks_exact(2)) {
            let [high, low] = pair else { return None };
            *byte = high << 4 | low;
        }
        Some(Self(bytes))
    }

    /// In eight groups, for a person to type.
    pub fn shown(&self) -> String {
        let digits = in_hex(&self.0);
        let groups: Vec<&str> = (0..8)
            .filter_map(|i| digits.get(i * 4..i * 4 + 4))
            .collect();
        groups.join("-")
    }

    fn message(role: Role, asker: &Nonce, waiter: &Nonce) -> Vec<u8> {
        let byte = match role {
            Role::Asker => b'a',
            Role::Waiter => b'w',
        };
        let mut out = vec![byte];
        out.extend(asker);
        out.extend(waiter);
        out
    }

    /// HMAC-SHA-256 over the role and both nonces. Source: RFC 2104, FIPS 180-4. Test: `validate_proofs`.
    pub(super) fn proof(&self, role: Role, asker: &Nonce, waiter: &Nonce) -> [u8; 32] {
        HMAC::mac(Self::message(role, asker, waiter), self.0)
    }

    /// Whether a proof is right, in a time that does not tell how far it is.
    pub(super) fn is_proven(
        &self,
        proof: &[u8; 32],
        role: Role,
        asker: &Nonce,
        waiter: &Nonce,
    ) -> bool {
        HMAC::verify(Self::message(role, asker, waiter), self.0, proof)
    }
}

/// Whose proof it is, so that none can be sent back.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Role {
    Asker,
    Waiter,
}

/// Sixteen new bytes from the system's source of secrets.
pub(super) fn nonce() -> std::io::Result<Nonce> {
    let mut bytes = [0; 16];
    getrandom::fill(&mut bytes).map_err(|error| std::io::Error::other(error.to_string()))?;
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn validate_proofs() {
        // RFC 4231, test case 2
        let mac = HMAC::mac(b"what do ya want for nothing?", b"Jefe");
        assert_eq!(
            in_hex(&mac),
            "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843"
        );
        let token = Token([7; 16]);
        let (a, w) = ([1; 16], [2; 16]);
        let proof = token.proof(Role::Asker, &a, &w);
        assert!(token.is_proven(&proof, Role::Asker, &a, &w));
        // sent back, of another run, of another token
        assert!(!token.is_proven(&proof, Role::Waiter, &a, &w));
        assert!(!token.is_proven(&proof, Role::Asker, &w, &a));
        assert!(!Token([8; 16]).is_proven(&proof, Role::Asker, &a, &w));
    }

    #[test]
    fn verify_tokens_are_read_as_they_are_shown() {
        let token = Token::new().unwrap();
        assert_ne!(token, Token::new().unwrap());
        assert_eq!(Token::read(&token.shown()), Some(token.clone()));
        assert_eq!(
            Token::read(&token.shown().to_uppercase().replace('-', " ")),
            Some(token.clone())
        );
        assert_eq!(Token::read("12"), None);
        assert_eq!(Token::read(&format!("{}0", token.shown())), None);
        assert_eq!(Token::read("zz000000000000000000000000000000"), None);
        assert_eq!(format!("{token:?}"), "Token(..)");
    }
}
