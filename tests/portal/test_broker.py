"""What the worker's line to the broker does when it is closed."""

import pytest
from kombu import Producer, Queue

from portal.celery import app


@pytest.mark.servers
def test_a_line_that_is_closed_gives_no_message_back(redis_url):
    """Giving back over a line whose broker had gone ended the worker; Job rows are what is to be done."""
    with app.connection_for_write(redis_url) as line:
        queue = Queue("in-hand", channel=line.default_channel)
        queue.declare()
        for number in (1, 2):
            Producer(line.default_channel).publish({"job": number}, routing_key="in-hand", exchange="")
        assert queue.get(no_ack=False).payload == {"job": 1}

    with app.connection_for_write(redis_url) as line:
        left = Queue("in-hand", channel=line.default_channel)
        assert left.get(no_ack=True).payload == {"job": 2}
        assert left.get(no_ack=True) is None
