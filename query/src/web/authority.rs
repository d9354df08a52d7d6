//! A home's own authority: the certificate that a phone is given once, and the one that the page shows with `--tls`.
//!
//! `authority/` in the home has the certificate and its key, the key readable by its owner alone. The authority can
//! vouch for addresses of private networks and for names that no public server has (RFC 5280, 4.2.1.10, name
//! constraints; RFC 1918, RFC 4193, RFC 6762, RFC 8375): a phone that trusts it is not at its mercy elsewhere.

use std::io::Write;
use std::net::IpAddr;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use chrono::{DateTime, Datelike, TimeDelta, Utc};
use rcgen::{
    BasicConstraints, CertificateParams, CidrSubnet, DistinguishedName, DnType, ExtendedKeyUsagePurpose,
    GeneralSubtree, IsCa, Issuer, KeyPair, KeyUsagePurpose, NameConstraints, SanType, date_time_ymd,
};
use sha2::{Digest, Sha256};
use tokio_rustls::rustls;
use tokio_rustls::rustls::pki_types::pem::PemObject;
use tokio_rustls::rustls::pki_types::{CertificateDer, PrivateKeyDer};

use crate::error::Error;

/// Years that a phone may trust the authority.
const YEARS: i32 = 10;
/// Days that the page's own certificate is good for; it is made anew at each start. Phones refuse one that is good
/// for more than 398 days (from memory).
const DAYS: i64 = 300;
/// Ends of names that no public server has.
const NAMES: [&str; 4] = ["local", "lan", "internal", "home.arpa"];
/// Private networks, with the lengths of their prefixes.
const NETWORKS: [(&str, u8); 7] = [
    ("10.0.0.0", 8),
    ("172.16.0.0", 12),
    ("192.168.0.0", 16),
    ("169.254.0.0", 16),
    ("127.0.0.0", 8),
    ("fc00::", 7),
    ("fe80::", 10),
];

/// A home's authority.
pub struct Authority {
    pem: String,
    issuer: Issuer<'static, KeyPair>,
}

impl Authority {
    /// Reads a home's authority, making it where there is none. Errors: the disk; a file that is no such thing.
    pub fn of(home: &Path, now: DateTime<Utc>) -> Result<Self, Error> {
        let folder = home.join("authority");
        let (certificate, key) = (folder.join("certificate.pem"), folder.join("key.pem"));
        if key.is_file() {
            let pem = std::fs::read_to_string(&certificate).map_err(|error| unread(&certificate, &error))?;
            let text = std::fs::read_to_string(&key).map_err(|error| unread(&key, &error))?;
            let key = KeyPair::from_pem(&text).map_err(|error| unread(&key, &error))?;
            CertificateDer::from_pem_slice(pem.as_bytes()).map_err(|error| unread(&certificate, &error))?;
            let issuer = Issuer::new(params(&key, now)?, key);
            return Ok(Self { pem, issuer });
        }
        let pair = KeyPair::generate().map_err(|error| unmade(&error))?;
        let params = params(&pair, now)?;
        let pem = params.self_signed(&pair).map_err(|error| unmade(&error))?.pem();
        std::fs::create_dir_all(&folder).map_err(|error| unwritten(&folder, &error))?;
        put(&certificate, &pem)?;
        put(&key, &pair.serialize_pem())?;
        Ok(Self { pem, issuer: Issuer::new(params, pair) })
    }

    /// The certificate for phones, in PEM.
    pub fn certificate(&self) -> &str {
        &self.pem
    }

    /// SHA-256 of the certificate, in pairs, as a phone shows it.
    pub fn fingerprint(&self) -> String {
        let der = CertificateDer::from_pem_slice(self.pem.as_bytes());
        let hash = Sha256::digest(der.as_deref().unwrap_or_default());
        hash.iter().map(|byte| format!("{byte:02X}")).collect::<Vec<_>>().join(":")
    }

    /// What a server of these addresses and names shows. Errors: one that the authority may not vouch for.
    pub fn server(
        &self,
        addresses: &[IpAddr],
        names: &[String],
        now: DateTime<Utc>,
    ) -> Result<Arc<rustls::ServerConfig>, Error> {
        let mut params = CertificateParams::default();
        for address in addresses {
            if !NETWORKS.iter().any(|(network, bits)| is_in(*address, network, *bits)) {
                return Err(Error::wrong_use(format!("{address} is no address of a private network"))
                    .hint("--tls is for the boat's own network"));
            }
            params.subject_alt_names.push(SanType::IpAddress(*address));
        }
        for name in names {
            if !NAMES.iter().any(|end| name.to_lowercase().ends_with(&format!(".{end}"))) {
                return Err(Error::wrong_use(format!(
                    "expected a name of the boat's own network, found \"{name}\""
                ))
                .hint(format!("with --tls a name ends in one of .{}", NAMES.join(", ."))));
            }
            let name = name.clone().try_into().map_err(|error: rcgen::Error| unmade(&error))?;
            params.subject_alt_names.push(SanType::DnsName(name));
        }
        params.distinguished_name = DistinguishedName::new();
        params.distinguished_name.push(DnType::CommonName, "Leadsman");
        params.extended_key_usages.push(ExtendedKeyUsagePurpose::ServerAuth);
        params.key_usages.push(KeyUsagePurpose::DigitalSignature);
        // A phone's clock may be a little slow.
        let (year, month, date) = day(now - TimeDelta::days(1));
        params.not_before = date_time_ymd(year, month, date);
        let (year, month, date) = day(now + TimeDelta::days(DAYS));
        params.not_after = date_time_ymd(year, month, date);
        let key = KeyPair::generate().map_err(|error| unmade(&error))?;
        let certificate = params.signed_by(&key, &self.issuer).map_err(|error| unmade(&error))?;
        let own = CertificateDer::from_pem_slice(self.pem.as_bytes()).map_err(|error| unmade(&error))?;
        let key = PrivateKeyDer::try_from(key.serialize_der()).map_err(Error::home)?;
        let provider = Arc::new(rustls::crypto::ring::default_provider());
        let mut config = rustls::ServerConfig::builder_with_provider(provider)
            .with_safe_default_protocol_versions()
            .map_err(|error| unmade(&error))?
            .with_no_client_auth()
            .with_single_cert(vec![certificate.der().clone(), own], key)
            .map_err(|error| unmade(&error))?;
        config.alpn_protocols = vec![b"http/1.1".to_vec()];
        Ok(Arc::new(config))
    }
}

/// What the authority's certificate says. The name has a piece of the key's hash, so that two homes' are told apart.
fn params(key: &KeyPair, now: DateTime<Utc>) -> Result<CertificateParams, Error> {
    let hash = Sha256::digest(key.public_key_raw());
    let sign: String = hash.iter().take(3).map(|byte| format!("{byte:02x}")).collect();
    let mut params = CertificateParams::default();
    params.distinguished_name = DistinguishedName::new();
    params.distinguished_name.push(DnType::CommonName, format!("Leadsman aboard {sign}"));
    params.is_ca = IsCa::Ca(BasicConstraints::Constrained(0));
    params.key_usages = vec![KeyUsagePurpose::KeyCertSign, KeyUsagePurpose::CrlSign];
    let mut permitted: Vec<GeneralSubtree> =
        NAMES.iter().map(|name| GeneralSubtree::DnsName((*name).to_owned())).collect();
    for (network, bits) in NETWORKS {
        permitted.push(GeneralSubtree::IpAddress(subnet(network, bits)?));
    }
    params.name_constraints =
        Some(NameConstraints { permitted_subtrees: permitted, excluded_subtrees: Vec::new() });
    let (year, month, day) = day(now - TimeDelta::days(1));
    params.not_before = date_time_ymd(year, month, day);
    params.not_after = date_time_ymd(now.year() + YEARS, now.month() as u8, 1);
    Ok(params)
}

fn subnet(network: &str, bits: u8) -> Result<CidrSubnet, Error> {
    let address: IpAddr = network
        .parse()
        .map_err(|error: std::net::AddrParseError| Error::home("a network").because(&error))?;
    // The mask is spelled out, so that what it means stands here.
    Ok(match address {
        IpAddr::V4(v4) => {
            let mask = u32::MAX.checked_shl(32 - u32::from(bits)).unwrap_or(0);
            CidrSubnet::V4(v4.octets(), mask.to_be_bytes())
        }
        IpAddr::V6(v6) => {
            let mask = u128::MAX.checked_shl(128 - u32::from(bits)).unwrap_or(0);
            CidrSubnet::V6(v6.octets(), mask.to_be_bytes())
        }
    })
}

fn is_in(address: IpAddr, network: &str, bits: u8) -> bool {
    match (address, network.parse()) {
        (IpAddr::V4(a), Ok(IpAddr::V4(n))) => (a.to_bits() ^ n.to_bits()).leading_zeros() >= u32::from(bits),
        (IpAddr::V6(a), Ok(IpAddr::V6(n))) => (a.to_bits() ^ n.to_bits()).leading_zeros() >= u32::from(bits),
        _ => false,
    }
}

fn day(at: DateTime<Utc>) -> (i32, u8, u8) {
    (at.year(), at.month() as u8, at.day() as u8)
}

/// Writes a file that its owner alone can read.
fn put(path: &PathBuf, text: &str) -> Result<(), Error> {
    let folder = path.parent().unwrap_or(Path::new("."));
    let mut file = tempfile::NamedTempFile::new_in(folder).map_err(|error| unwritten(path, &error))?;
    file.write_all(text.as_bytes()).map_err(|error| unwritten(path, &error))?;
    file.persist(path).map_err(|error| unwritten(path, &error.error))?;
    Ok(())
}

fn unread(path: &Path, error: &(dyn std::error::Error + 'static)) -> Error {
    Error::home(format!("the home's authority cannot be read from {}", path.display()))
        .because(error)
        .hint("move the folder away for a new authority; every phone then has to be given its certificate")
}

fn unwritten(path: &Path, error: &(dyn std::error::Error + 'static)) -> Error {
    Error::home(format!("the home's authority cannot be written to {}", path.display())).because(error)
}

fn unmade(error: &(dyn std::error::Error + 'static)) -> Error {
    Error::home("the certificate could not be made").because(error)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn now() -> DateTime<Utc> {
        "2026-10-06T00:00:00Z".parse().expect("a time")
    }

    #[test]
    fn an_authority_is_made_once_and_vouches_for_the_boat_alone() {
        let home = tempfile::tempdir().expect("a folder");
        let first = Authority::of(home.path(), now()).expect("made");
        let again = Authority::of(home.path(), now() + TimeDelta::days(400)).expect("read");
        assert_eq!(first.certificate(), again.certificate());
        assert_eq!(first.fingerprint(), again.fingerprint());
        assert_eq!(first.fingerprint().len(), 32 * 3 - 1);
        let address = |text: &str| text.parse::<IpAddr>().expect("an address");
        let names = ["boat.local".to_owned()];
        assert!(again.server(&[address("192.168.4.1"), address("fd00::1")], &names, now()).is_ok());
        let public = again.server(&[address("93.184.216.34")], &[], now()).expect_err("public");
        assert!(public.message.contains("no address of a private network"), "{}", public.message);
        let bank = again.server(&[], &["bank.example".to_owned()], now()).expect_err("public");
        assert!(bank.message.contains("bank.example"), "{}", bank.message);
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            let mode =
                std::fs::metadata(home.path().join("authority/key.pem")).expect("a key").permissions().mode();
            assert_eq!(mode & 0o077, 0, "the key is its owner's alone");
        }
        std::fs::write(home.path().join("authority/key.pem"), "no key").expect("a file");
        let broken = Authority::of(home.path(), now()).err().expect("no key");
        assert!(broken.hint.is_some(), "{}", broken.message);
    }

    #[test]
    fn networks_are_cut_where_they_end() {
        let address = |text: &str| text.parse::<IpAddr>().expect("an address");
        assert!(is_in(address("172.31.255.255"), "172.16.0.0", 12));
        assert!(!is_in(address("172.32.0.0"), "172.16.0.0", 12));
        assert!(is_in(address("fdff::1"), "fc00::", 7));
        assert!(!is_in(address("fe00::1"), "fc00::", 7));
        assert_eq!(subnet("172.16.0.0", 12).expect("one"), CidrSubnet::V4([172, 16, 0, 0], [255, 240, 0, 0]));
    }
}
