"""Keeps the bytes of pictures in a bucket of a storage that speaks S3, behind the same four methods as the folder."""

from __future__ import annotations

import ssl
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from io import BytesIO
from typing import Final

import certifi
from minio import Minio
from minio.error import MinioException, S3Error
from urllib3 import PoolManager, Retry, Timeout
from urllib3.exceptions import HTTPError, MaxRetryError

from drillhall.errors import NotFound, Unavailable
from drillhall.pictures.storage import Looked, check_key, check_prefix, gone, not_put
from drillhall.words import say

CONNECT_SECONDS: Final = 3.0
READ_SECONDS: Final = 10.0
"""A storage that is slower counts as away: whoever waits for a picture holds a row, and on SQLite everybody else, meanwhile."""
AT_ONCE: Final = 10
"""Connections that are kept open."""
_WHOLE: Final = 64 * 1024 * 1024
"""More than any file has, so that each is put by one request: such an object is whole or not there, and nothing is left of a break."""
_NO_SUCH: Final = frozenset({"NoSuchKey", "NoSuchVersion"})


class BucketStorage:
    """Keeps each file as an object under its key, without a right for anybody else: the hall alone hands it on, and asks who may.

    `host` has its port where that is not the usual one; the bucket is there already and is the hall's alone.
    """

    def __init__(self, host: str, bucket: str, *, region: str, key_id: str, secret: str, token: str = "", is_https: bool = True) -> None:
        self.host, self.bucket = host, bucket
        lines = _lines()
        self._client = Minio(host, key_id, secret, token or None, is_https, region, lines)
        self._anybody = Minio(host, secure=is_https, region=region, http_client=lines)

    def put(self, key: str, content: bytes) -> None:
        """Keep the bytes whole under the key, or raise Unavailable and keep nothing; their sum goes along."""
        check_key(key)
        try:
            self._client.put_object(self.bucket, key, BytesIO(content), len(content), part_size=_WHOLE)
        except (MinioException, HTTPError) as error:
            raise not_put(_fault(error)) from error

    def get(self, key: str) -> bytes:
        """Return the bytes under the key, or raise NotFound; Unavailable where the storage does not say."""
        check_key(key)
        with self._asked():
            answer = self._client.get_object(self.bucket, key)
            try:
                return answer.read()
            finally:
                answer.close()
                answer.release_conn()

    def delete(self, key: str) -> None:
        """Let the bytes under the key go; it is no error that there are none."""
        check_key(key)
        with self._asked(), suppress(NotFound):
            self._client.remove_object(self.bucket, key)

    def keys(self, prefix: str = "") -> Iterator[str]:
        """Yield every key that begins with the prefix, in order."""
        check_prefix(prefix)
        with self._asked():
            for listed in self._client.list_objects(self.bucket, prefix=prefix, recursive=True):
                if listed.object_name:
                    yield listed.object_name

    def look(self) -> Looked:
        """Say how the bucket is; nothing is written, so whether the hall may write shows with the first picture alone."""
        try:
            key = next(self.keys(), None)
            versions = self._client.get_bucket_versioning(self.bucket)
        except Unavailable as error:
            return Looked(_fault(error.__cause__))
        except (MinioException, HTTPError):  # not every storage that speaks S3 knows of versions, or tells everybody
            return Looked(is_open=self._is_open(key))
        return Looked(is_open=self._is_open(key), keeps_deleted=versions.status == "Enabled")

    def _is_open(self, key: str | None) -> bool:
        """Whether somebody without a key may list the bucket, or read that object of it."""
        with suppress(MinioException, HTTPError):
            next(self._anybody.list_objects(self.bucket), None)
            return True
        with suppress(MinioException, HTTPError):
            if key is not None:
                self._anybody.stat_object(self.bucket, key)
                return True
        return False

    @contextmanager
    def _asked(self) -> Iterator[None]:
        try:
            yield
        except S3Error as error:
            if error.code in _NO_SUCH:
                raise gone() from None
            raise _away(error) from error
        except (MinioException, HTTPError) as error:
            raise _away(error) from error


def _away(error: Exception) -> Unavailable:
    return Unavailable(
        say(
            "The storage of pictures does not answer as it should ({fault}). Try again in a moment; if it lasts, tell the keeper.",
            fault=_fault(error),
        )
    )


def _fault(error: BaseException | None) -> str:
    """Return a fault in a word, as the standard names it; never the message, which may tell addresses and keys."""
    if isinstance(error, S3Error):
        return error.code or "S3Error"
    if isinstance(error, MaxRetryError) and error.reason is not None:
        return type(error.reason).__name__
    return type(error).__name__


def _lines() -> PoolManager:
    trusted = ssl.create_default_context()  # whom this machine trusts, or SSL_CERT_FILE names; some machines trust nobody
    trusted.load_verify_locations(certifi.where())
    return PoolManager(
        timeout=Timeout(connect=CONNECT_SECONDS, read=READ_SECONDS),
        maxsize=AT_ONCE,
        ssl_context=trusted,
        retries=Retry(total=1, redirect=False, backoff_factor=0.2, status_forcelist=(500, 502, 503, 504)),
    )
