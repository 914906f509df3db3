//! Devices of the local network. Nobody is let in until the person at the computer says so, and then only who brings the link
//! that the computer's own screen shows.
use super::{Site, router};
use anyhow::Context;
use axum::http::HeaderMap;
use axum::http::header::COOKIE;
use cookie::{Cookie, SameSite, time::Duration};
use std::io::ErrorKind;
use std::net::{IpAddr, Ipv4Addr, SocketAddr, TcpListener, UdpSocket};
use std::sync::{Mutex, MutexGuard, PoisonError};
use subtle::ConstantTimeEq;
use tokio::task::JoinHandle;

/// The port tried first, so that a device finds again what waits in its browser: that is kept by address and port.
const PORT: u16 = 8373;
/// Name of the cookie of a device that was let in.
const NAME: &str = "bench-device";

/// Where devices would come in.
#[derive(Clone, Copy, Debug, Default)]
pub struct Place {
    /// Address of this computer in the local network; absent: found out.
    pub address: Option<Ipv4Addr>,
    /// Port; 0 for the usual one, or a free one where that is taken.
    pub port: u16,
}

/// Whether devices are let in, and by which keys.
#[derive(Default)]
pub struct Lan {
    place: Place,
    door: Mutex<Option<Open>>,
}

struct Open {
    address: SocketAddr,
    /// Stands in the link; a device brings it once.
    link: Key,
    /// Given to a device in return; it brings it with every request.
    pass: Key,
    let_in: usize,
    serving: JoinHandle<()>,
}

/// What a person sees of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Door {
    /// Opens the bench on a device.
    pub link: String,
    /// Devices that brought it.
    pub let_in: usize,
}

impl Lan {
    /// Nobody is let in yet.
    pub fn at(place: Place) -> Lan {
        Lan { place, door: Mutex::new(None) }
    }

    fn door(&self) -> MutexGuard<'_, Option<Open>> {
        self.door.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// How devices come in now; `None` while nobody is let in.
    pub fn shown(&self) -> Option<Door> {
        let door = self.door();
        let open = door.as_ref()?;
        let link = format!("http://{}/pair?k={}", open.address, open.link.0);
        Some(Door { link, let_in: open.let_in })
    }

    /// Listens in the local network.
    ///
    /// # Panics
    /// Outside a runtime of tokio, which serves it.
    ///
    /// # Errors
    /// This computer is in no network, or may not listen there.
    pub fn open(&self, site: &Site) -> anyhow::Result<()> {
        // Held to the end, so that two presses at once open one door.
        let mut door = self.door();
        if door.is_some() {
            return Ok(());
        }
        let address = match self.place.address {
            Some(address) => address,
            None => own_address().context(
                "this computer is in no local network; join the Wi-Fi of the phone, then try again",
            )?,
        };
        let listener = listen(address, self.place.port)?;
        listener.set_nonblocking(true)?;
        let address = listener.local_addr()?;
        let listener = tokio::net::TcpListener::from_std(listener)?;
        let (link, pass) = (Key::new()?, Key::new()?);
        let outside = Site { hosts: [address.to_string()].into(), outside: true, ..site.clone() };
        let serving = tokio::spawn(async move {
            if let Err(e) = axum::serve(listener, router(outside)).await {
                eprintln!("devices are not served any more: {e}");
            }
        });
        *door = Some(Open { address, link, pass, let_in: 0, serving });
        Ok(())
    }

    /// Nobody is let in any more, and who was is out.
    pub fn close(&self) {
        if let Some(open) = self.door().take() {
            open.serving.abort();
        }
    }

    /// Who was let in is out; a new link lets devices in.
    ///
    /// # Errors
    /// The system has no random numbers.
    pub fn forget(&self) -> anyhow::Result<()> {
        let (link, pass) = (Key::new()?, Key::new()?);
        if let Some(open) = self.door().as_mut() {
            (open.link, open.pass, open.let_in) = (link, pass, 0);
        }
        Ok(())
    }

    /// The cookie for a device that brings the key of the link.
    pub fn pair(&self, key: &str) -> Option<String> {
        let mut door = self.door();
        let open = door.as_mut().filter(|o| o.link.is(key))?;
        open.let_in += 1;
        // Not `Secure`: there is no certificate for an address in a home network.
        let cookie = Cookie::build((NAME, open.pass.0.clone())).path("/").http_only(true);
        Some(cookie.same_site(SameSite::Strict).max_age(Duration::days(30)).to_string())
    }

    /// Whether a request comes from a device that was let in.
    pub fn knows(&self, headers: &HeaderMap) -> bool {
        let door = self.door();
        let Some(open) = door.as_ref() else { return false };
        let sent = headers.get_all(COOKIE).iter().filter_map(|v| v.to_str().ok());
        sent.flat_map(Cookie::split_parse).flatten().any(|c| c.name() == NAME && open.pass.is(c.value()))
    }
}

/// 128 random bits, in hexadecimal digits.
struct Key(String);

impl Key {
    fn new() -> anyhow::Result<Key> {
        let mut bytes = [0u8; 16];
        getrandom::fill(&mut bytes).map_err(|e| anyhow::anyhow!("the system gave no random numbers: {e}"))?;
        Ok(Key(bytes.iter().map(|b| format!("{b:02x}")).collect()))
    }

    /// Takes as long for any wrong key as for the right one.
    fn is(&self, other: &str) -> bool {
        self.0.as_bytes().ct_eq(other.as_bytes()).into()
    }
}

/// The address under which this computer would reach others. Nothing is sent: asking for the way is enough.
fn own_address() -> Option<Ipv4Addr> {
    let way = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).ok()?;
    // An address for documentation (RFC 5737), where nobody listens.
    way.connect((Ipv4Addr::new(192, 0, 2, 1), 9)).ok()?;
    match way.local_addr().ok()?.ip() {
        IpAddr::V4(own) if !own.is_loopback() && !own.is_unspecified() => Some(own),
        _ => None,
    }
}

fn listen(address: Ipv4Addr, port: u16) -> anyhow::Result<TcpListener> {
    let ports = if port == 0 { &[PORT, 0][..] } else { &[port][..] };
    let mut why = None;
    for port in ports {
        match TcpListener::bind((address, *port)) {
            Ok(listener) => return Ok(listener),
            Err(e) => why = Some(e),
        }
    }
    match why {
        Some(e) if e.kind() == ErrorKind::AddrNotAvailable => {
            anyhow::bail!(
                "{address} is no address of this computer; leave --lan-address out, or give one that it has"
            )
        }
        Some(e) if e.kind() == ErrorKind::AddrInUse => {
            anyhow::bail!(
                "{address}:{port} is taken by another program; end that, or choose another with --port"
            )
        }
        other => anyhow::bail!(
            "{address} cannot be listened on: {}",
            other.map_or(String::new(), |e| e.to_string())
        ),
    }
}
