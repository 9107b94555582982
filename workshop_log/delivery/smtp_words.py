"""What can go wrong between here and a mail server, each in one sentence with what to do."""

from __future__ import annotations

import smtplib
import socket
import ssl
from typing import TYPE_CHECKING

from workshop_log.delivery.addresses import shown

if TYPE_CHECKING:
    from workshop_log.exchange.stationery import MailAccount

# OpenSSL's numbers of what is wrong with a certificate (X509_V_ERR_…).
_NOT_YET, _EXPIRED = 9, 10
_WRONG_NAME = (62, 64)
_UNKNOWN = (18, 19, 20, 21)
_LONGEST_ANSWER = 300


def place_of(account: MailAccount) -> str:
    """Return which server is meant: "mail.example.org, port 587"."""
    return f"{shown(account.server)}, port {account.port}"


def reply_words(code: int, text: bytes | str) -> str:
    """Return what the server said, on one line: "550 no such person here"."""
    said = text.decode("utf-8", "replace") if isinstance(text, bytes) else text
    return shown(f"{code} {said}", _LONGEST_ANSWER)


def trouble_words(error: OSError, account: MailAccount) -> str:
    """Return why the server could not be reached or the connection was lost."""
    place = place_of(account)
    if isinstance(error, smtplib.SMTPServerDisconnected) and isinstance(error.__context__, OSError):
        error = error.__context__
    match error:
        case ssl.SSLCertVerificationError():
            return f"{_certificate_words(error, account)} Nothing was sent."
        case ssl.SSLError():
            other = "STARTTLS" if account.security == "TLS" else "TLS"
            return (f"No safe connection to {place} came about ({shown(error.reason or str(error))}): check the port, "
                    f"or choose {other} in the settings.")
        case socket.gaierror():
            return f"The server {shown(account.server)} was not found: there is no network, or its name is mistyped."
        case TimeoutError():
            return f"The server {place} does not answer: check port and kind of security, or try later."
        case ConnectionRefusedError():
            return f"Nothing answers at {place}: check server and port, or try later."
        case _:
            return f"The connection to {place} was lost ({shown(error.strerror or str(error))})."


def _certificate_words(error: ssl.SSLCertVerificationError, account: MailAccount) -> str:
    server = shown(account.server)
    if error.verify_code == _EXPIRED:
        return f"The certificate of {server} has expired: its operator has to renew it."
    if error.verify_code == _NOT_YET:
        return f"The certificate of {server} is not valid yet: check the date of this machine."
    if error.verify_code in _WRONG_NAME:
        return f"The certificate that {server} showed is for another name: check the server's name in the settings."
    if error.verify_code in _UNKNOWN:
        return (f"Nobody that this machine knows vouches for the certificate of {server}: if it is your own server, "
                "name the file of your own authority in the settings.")
    return f"The certificate of {server} is not in order ({shown(error.verify_message)})."


def authority_words(path: str, error: OSError) -> str:
    """Return why the file of one's own authority cannot be used."""
    if isinstance(error, ssl.SSLError):
        return f"The file of your own authority, {shown(path)}, holds no certificate: choose another in the settings."
    return (f"The file of your own authority, {shown(path)}, cannot be read ({error.strerror}): choose it anew in the "
            "settings.")
