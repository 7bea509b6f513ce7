//! `/proc/self/mountinfo`: what is mounted where, by which service.

use super::{NotThere, Said, shown};

/// A service over the network, in the words of a site.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Service {
    /// SMB.
    Smb,
    /// NFS.
    Nfs,
    /// Files over SSH.
    Sftp,
    /// AFP.
    Afp,
    /// WebDAV.
    Webdav,
    /// Another one over the network that a site has no word for.
    Other,
    /// A disk of this machine.
    Local,
}

impl Service {
    /// The word of a site file, where it has one.
    pub fn word(self) -> Option<&'static str> {
        match self {
            Self::Smb => Some("smb"),
            Self::Nfs => Some("nfs"),
            Self::Sftp => Some("sftp"),
            Self::Afp => Some("afp"),
            Self::Webdav => Some("http"),
            Self::Other | Self::Local => None,
        }
    }

    /// Whether it lies on another machine.
    pub fn is_remote(self) -> bool {
        self != Self::Local
    }
}

/// A mount. Names of users and passwords are never kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mount {
    /// Where it hangs.
    pub point: String,
    /// The file system's type.
    pub file_system: String,
    /// What is mounted, without any name of a user.
    pub source: String,
    /// Major and minor number of its device.
    pub device: String,
    /// The service.
    pub service: Service,
    /// Version of the protocol, as the system says it.
    pub version: Said<String>,
    /// Whether packets carry a signature.
    pub signed: Said<bool>,
    /// Whether data are encrypted on the way.
    pub encrypted: Said<bool>,
    /// Largest read request in bytes.
    pub read_size: Said<u64>,
    /// Largest write request in bytes.
    pub write_size: Said<u64>,
    /// Connections (NFS) or the most channels (SMB).
    pub connections: Said<u32>,
    /// Whether every write waits.
    pub waits: bool,
    /// Whether the client runs outside the kernel.
    pub user_space: bool,
    /// Whether nothing can be written.
    pub read_only: bool,
}

const MOST: usize = 4096;

/// Reads all mounts. Any number of optional fields may stand before the dash. Test: `validate_mounts`.
pub fn mounts(text: &str) -> Vec<Mount> {
    text.lines().take(MOST).filter_map(mount).collect()
}

fn mount(line: &str) -> Option<Mount> {
    let (front, back) = line.split_once(" - ")?;
    let mut front = front.split(' ');
    let device = front.nth(2)?;
    let point = unescaped(front.nth(1)?);
    let own = front.next()?;
    let mut back = back.split(' ');
    let (file_system, source) = (back.next()?, back.next()?);
    let options: Vec<&str> = back.next().unwrap_or_default().split(',').collect();
    let value = |name: &str| {
        options
            .iter()
            .find_map(|option| option.strip_prefix(name)?.strip_prefix('='))
    };
    let has = |name: &str| options.contains(&name);
    let service = service(file_system);
    let unsaid = |what: &str| NotThere::because(format!("the mount does not say {what}"));
    let whole = |name: &str| {
        value(name)
            .and_then(|text| text.parse::<u64>().ok())
            .ok_or_else(|| unsaid(name))
    };
    let count = |name: &str| {
        value(name)
            .and_then(|text| text.parse::<u32>().ok())
            .filter(|n| (1..=1024).contains(n))
    };
    let sec = value("sec");
    let (signed, encrypted) = match service {
        Service::Smb => (
            // no word says signing: the way of logging in gets an i at its end
            match sec {
                Some("none") => Ok(false),
                Some(sec) => Ok(sec.ends_with('i')),
                None => Err(unsaid("how it logs in")),
            },
            Ok(has("seal")),
        ),
        Service::Nfs => match sec {
            Some("krb5i") => (Ok(true), Ok(encrypted_wire(value("xprtsec")))),
            Some("krb5p") => (Ok(false), Ok(true)),
            Some("sys" | "krb5" | "none" | "null") => {
                (Ok(false), Ok(encrypted_wire(value("xprtsec"))))
            }
            _ => (Err(unsaid("its security")), Err(unsaid("its security"))),
        },
        Service::Sftp => (Ok(false), Ok(true)),
        _ => (Err(unsaid("signing")), Err(unsaid("encryption"))),
    };
    let connections = match service {
        Service::Smb if has("multichannel") => count("max_channels").ok_or(unsaid("channels")),
        Service::Smb => Ok(1),
        Service::Nfs => Ok(count("nconnect").unwrap_or(1)),
        _ => Err(unsaid("connections")),
    };
    Some(Mount {
        point,
        file_system: shown(file_system),
        source: without_user(&unescaped(source)),
        device: shown(device),
        service,
        version: value("vers").map(shown).ok_or_else(|| unsaid("a version")),
        signed,
        encrypted,
        read_size: whole("rsize"),
        write_size: whole("wsize"),
        connections,
        waits: has("sync") || own.split(',').any(|option| option == "sync"),
        user_space: file_system.starts_with("fuse"),
        read_only: has("ro") || own.split(',').any(|option| option == "ro"),
    })
}

fn encrypted_wire(xprtsec: Option<&str>) -> bool {
    xprtsec.is_some_and(|word| word.contains("tls"))
}

fn service(file_system: &str) -> Service {
    match file_system {
        "cifs" | "smb3" | "smbfs" => Service::Smb,
        "nfs" | "nfs4" => Service::Nfs,
        "afpfs" => Service::Afp,
        "fuse.sshfs" => Service::Sftp,
        "davfs" | "fuse.davfs2" | "webdav" => Service::Webdav,
        "9p" | "virtiofs" | "afs" | "ceph" | "fuse.ceph" | "fuse.rclone" | "fuse.s3fs" => {
            Service::Other
        }
        other if other.starts_with("fuse.gvfs") => Service::Other,
        _ => Service::Local,
    }
}

/// `someone@store:/vault` and `//someone:word@store/vault` without their users.
fn without_user(source: &str) -> String {
    // only what stands in front of a host: two strokes inside a path are none
    let scheme = |at: &usize| {
        let front = source.get(..*at).unwrap_or_default();
        front.is_empty()
            || front
                .strip_suffix(':')
                .is_some_and(|word| word.chars().all(char::is_alphanumeric))
    };
    let authority_from = source.find("//").filter(scheme).map_or(0, |at| at + 2);
    let (front, rest) = source.split_at(authority_from);
    // a password may hold a stroke, so the last sign counts where one stands in front of a host
    match rest.rsplit_once('@') {
        Some((_, host)) => shown(&format!("{front}{host}")),
        None => shown(source),
    }
}

/// `\040` and its kin, three octal digits, as the characters they stand for.
fn unescaped(text: &str) -> String {
    let mut out: Vec<u8> = Vec::with_capacity(text.len());
    let bytes = text.as_bytes();
    let mut at = 0;
    while let Some(&byte) = bytes.get(at) {
        let octal = bytes
            .get(at + 1..at + 4)
            .filter(|_| byte == b'\\')
            .and_then(|digits| std::str::from_utf8(digits).ok())
            .and_then(|digits| u8::from_str_radix(digits, 8).ok());
        if let Some(byte) = octal {
            out.push(byte);
            at += 4;
        } else {
            out.push(byte);
            at += 1;
        }
    }
    String::from_utf8_lossy(&out).into_owned()
}

/// The mount that holds a folder: the longest point that the path goes through, the last line of several.
///
/// Symbols: path, absolute and without links. Test: `verify_which_mount_holds_a_folder`.
pub fn holding<'m>(mounts: &'m [Mount], path: &str) -> Option<&'m Mount> {
    let goes_through = |point: &str| {
        let point = point.trim_end_matches('/');
        path.strip_prefix(point)
            .is_some_and(|rest| rest.is_empty() || rest.starts_with('/'))
    };
    mounts
        .iter()
        .filter(|mount| goes_through(&mount.point))
        .max_by_key(|mount| mount.point.trim_end_matches('/').len())
}
