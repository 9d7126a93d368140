//! Under which addresses this device is found on the local network.

use std::net::{IpAddr, Ipv4Addr, Ipv6Addr, SocketAddr, UdpSocket};

/// This device on the local network.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Here {
    /// Its addresses, the likeliest first; without loopback, and without those that hold on one link only and cannot
    /// stand in a browser's address line.
    pub addresses: Vec<IpAddr>,
    /// Its name by multicast DNS, ending in `.local` (RFC 6762); none where its own name is no host name.
    pub name: Option<String>,
}

impl Here {
    /// As it is now.
    #[must_use]
    pub fn now() -> Here {
        let all = if_addrs::get_if_addrs().unwrap_or_default();
        let mut addresses: Vec<IpAddr> = all.iter().map(if_addrs::Interface::ip).filter(|a| reachable(*a)).collect();
        let likeliest = [leaves_by(Ipv4Addr::UNSPECIFIED.into()), leaves_by(Ipv6Addr::UNSPECIFIED.into())];
        // IPv4 first: it is what every local network has and what can be typed.
        addresses.sort_by_key(|a| (a.is_ipv6(), !likeliest.contains(&Some(*a)), *a));
        addresses.dedup();
        let name = gethostname::gethostname().into_string().ok().and_then(|n| local_name(&n));
        Here { addresses, name }
    }
}

fn reachable(address: IpAddr) -> bool {
    let on_one_link = match address {
        IpAddr::V4(a) => a.is_link_local(),
        IpAddr::V6(a) => a.is_unicast_link_local(),
    };
    !on_one_link && !address.is_loopback() && !address.is_unspecified()
}

/// The own address from which the system would send to far away: that of the interface that leads out. Connecting a UDP
/// socket sends nothing. The far ends are addresses for documentation (RFC 5737 and RFC 3849), which nobody has.
fn leaves_by(any: IpAddr) -> Option<IpAddr> {
    let far: SocketAddr = match any {
        IpAddr::V4(_) => (Ipv4Addr::new(203, 0, 113, 1), 9).into(),
        IpAddr::V6(_) => (Ipv6Addr::new(0x2001, 0xdb8, 0, 0, 0, 0, 0, 1), 9).into(),
    };
    let socket = UdpSocket::bind((any, 0)).ok()?;
    socket.connect(far).ok()?;
    socket.local_addr().ok().map(|a| a.ip())
}

/// The first label of a host name under `.local`; none where it is no host name (RFC 1123, section 2.1).
fn local_name(host: &str) -> Option<String> {
    let label = host.split('.').next()?.to_ascii_lowercase();
    let fits = (1..=63).contains(&label.len())
        && label.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-')
        && !label.starts_with('-')
        && !label.ends_with('-');
    (fits && label != "localhost").then(|| format!("{label}.local"))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 1123, section 2.1, and RFC 1035, section 2.3.4: letters, digits, hyphens inside, at most 63.
    #[test]
    fn only_a_host_name_becomes_a_local_name() {
        assert_eq!(local_name("Bench.example.net").as_deref(), Some("bench.local"));
        assert_eq!(local_name("3-bay").as_deref(), Some("3-bay.local"));
        for not in ["", "localhost", "-bench", "bench-", "my_bench", "b\u{e4}nk", &"x".repeat(64)] {
            assert_eq!(local_name(not), None, "{not}");
        }
    }

    /// RFC 1122, section 3.2.1.3, RFC 3927 and RFC 4291, section 2.4.
    #[test]
    fn what_a_phone_cannot_use_is_left_out() {
        for (address, usable) in [
            ("192.168.1.20", true),
            ("10.0.0.1", true),
            ("fd00::2", true),
            ("127.0.0.1", false),
            ("169.254.10.1", false),
            ("fe80::1", false),
            ("::1", false),
            ("0.0.0.0", false),
        ] {
            assert_eq!(reachable(address.parse().expect("an address")), usable, "{address}");
        }
    }
}
