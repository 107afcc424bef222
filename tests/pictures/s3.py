"""A server that speaks S3, from a package, with a bucket in it and a key that opens it; it judges each request by its signature."""

from __future__ import annotations

import json
import logging
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from threading import Thread

import boto3
from moto.core import DEFAULT_ACCOUNT_ID
from moto.core.authorization import disable_iam_authentication, enable_iam_authentication
from moto.s3.models import s3_backends
from moto.server import DomainDispatcherApplication, create_backend_app
from werkzeug.serving import make_server

from drillhall.pictures.bucket import BucketStorage

REGION = "eu-north-1"
MAY = ("s3:ListBucket", "s3:GetObject", "s3:PutObject", "s3:DeleteObject", "s3:GetBucketVersioning")
"""What the README says that the hall's key must allow."""


@dataclass(frozen=True)
class Place:
    """Where a bucket is, and what opens it."""

    host: str
    bucket: str
    key_id: str
    secret: str

    def storage(self, **other: str) -> BucketStorage:
        """Return it as a hall sees it, or with something of it wrong."""
        place = replace(self, **other)
        return BucketStorage(place.host, place.bucket, region=REGION, key_id=place.key_id, secret=place.secret, is_https=False)

    @property
    def environment(self) -> dict[str, str]:
        """The variables that tell a hall of it."""
        keys = {"AWS_ACCESS_KEY_ID": self.key_id, "AWS_SECRET_ACCESS_KEY": self.secret, "AWS_REGION": REGION}
        return {"DRILLHALL_STORAGE": f"http://{self.host}/{self.bucket}", **keys}


class Buckets:
    """The server, as its own administrator has it."""

    def __init__(self, address: str) -> None:
        how = {"endpoint_url": address, "region_name": REGION, "aws_access_key_id": "x", "aws_secret_access_key": "x"}
        self.host = address.removeprefix("http://")
        self.s3, iam = boto3.client("s3", **how), boto3.client("iam", **how)
        iam.create_user(UserName="hall")
        rule = {"Effect": "Allow", "Action": MAY, "Resource": "*"}
        iam.put_user_policy(UserName="hall", PolicyName="hall", PolicyDocument=json.dumps({"Version": "2012-10-17", "Statement": [rule]}))
        self._key = iam.create_access_key(UserName="hall")["AccessKey"]
        self._made = 0

    @contextmanager
    def opened(self) -> Iterator[Place]:
        """Make an empty bucket; nobody gets at it without its key."""
        place = self.make()
        with enable_iam_authentication():
            yield place

    def fill(self, place: Place, count: int) -> None:
        """Put so many empty objects into a bucket, past the wire, which would take a while."""
        for number in range(count):
            s3_backends[DEFAULT_ACCOUNT_ID]["aws"].put_object(place.bucket, f"ab/{number:04}/x.webp", b"")

    def make(self) -> Place:
        """Make an empty bucket, as whoever runs the server."""
        self._made += 1
        name = f"hall-{self._made}"
        with disable_iam_authentication():
            self.s3.create_bucket(Bucket=name, CreateBucketConfiguration={"LocationConstraint": REGION})
        return Place(self.host, name, self._key["AccessKeyId"], self._key["SecretAccessKey"])


@contextmanager
def buckets() -> Iterator[Buckets]:
    """Run the server, which answers one request after the other: of two that put the same key at once it would trip over itself."""
    logging.getLogger("werkzeug").setLevel(logging.ERROR)
    server = make_server("127.0.0.1", 0, DomainDispatcherApplication(create_backend_app))
    thread = Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield Buckets(f"http://127.0.0.1:{server.server_port}")
    finally:
        server.shutdown()
        thread.join()
        server.server_close()
